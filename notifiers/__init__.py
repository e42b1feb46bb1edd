"""How people are told."""
