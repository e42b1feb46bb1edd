"""The natural laws and the trade's arithmetic: values in, values out, no I/O and no clock."""
