"""Where weather comes from, one file a source, and how its gaps are closed."""
