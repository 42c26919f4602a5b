"""The rows of many tables to typed values: gathered, set aside where they can't be trusted, settled, converted."""
