"""When a lawn may be treated: rules, the finder, the likely dates."""
