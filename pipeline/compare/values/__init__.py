"""The comparison's results as the plain values of `results.json`, and the frames behind the pictures."""
