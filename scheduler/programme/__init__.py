"""What a lawn is owed over the years, and what a count changes."""
