"""Rules and facts of the trade, each in one place, below every stage. Imports nothing of ours but schemas."""
