"""The answer, how sure it is, and why to believe it."""
