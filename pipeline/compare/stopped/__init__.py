"""Runs whose clock was stopped early: the right-censored likelihood, and the answer that rests on it."""
