"""What is known: facts, the natural laws behind them, and where they are kept."""
