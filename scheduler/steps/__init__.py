"""The day's work, one file a step: read a snapshot, call pure code, write in one transaction."""
