"""The pool split by levels: climate, pot, setup, grade."""
