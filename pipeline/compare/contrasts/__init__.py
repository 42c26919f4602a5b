"""What the comparison rests on: which runs, their cells, which shares count as one, contrasts, who is independent."""
