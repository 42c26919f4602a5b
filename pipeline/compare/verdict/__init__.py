"""From a fit to an answer: refits without each grower, verdicts, the recommendation and its text."""
