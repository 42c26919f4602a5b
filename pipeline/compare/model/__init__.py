"""The model: layout, likelihood, fit, refits from sums, robust errors, means, spreads, predictions."""
