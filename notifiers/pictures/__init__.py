"""Facts to SVG for pages and files. Pure: no I/O, no clock, the same facts give the same bytes."""
