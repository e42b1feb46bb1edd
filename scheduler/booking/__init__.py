"""A day for each owed visit: problem, plan, changes."""
