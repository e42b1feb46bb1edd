"""Frozen values that every room shares. No behaviour beyond their own consistency."""
