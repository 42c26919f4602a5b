"""A month's files: made in memory, put in place under the pool's lock, published by a swap."""
