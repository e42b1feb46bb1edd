"""Schema revisions, in order."""
