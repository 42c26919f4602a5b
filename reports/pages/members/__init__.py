"""A grower’s own page."""
