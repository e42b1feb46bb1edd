"""Published peers, for judging only."""
