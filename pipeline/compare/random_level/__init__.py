"""Runs stopped early, where the level of every series is drawn from a common distribution."""
