"""What a pool is made from: archive, journal, the lock around them, and the records they speak of."""
