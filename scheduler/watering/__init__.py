"""What a client should do today in the fortnight after a treatment."""
