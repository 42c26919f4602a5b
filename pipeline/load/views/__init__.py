"""Looking at a pool: what is in force, replaced, set aside or waits, at any cutoff."""
