"""What the data and weak priors say together of the spreads, and what follows for a new grower."""
