"""What anyone asks the pool: the comparison for one part of it, as values and as text."""
