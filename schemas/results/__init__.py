"""`results.json`: what every key means, and the types of its values."""
