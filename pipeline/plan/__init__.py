"""The plan of a test: how many pots, in which order, what to mix, and which test the pool wants most."""
