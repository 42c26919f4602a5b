"""What the desk reads of the pool: runs, reports, runs of the month."""
