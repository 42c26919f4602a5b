"""Pages: each file turns a month's view into one page value (or one per grower)."""
