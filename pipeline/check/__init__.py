"""The check stage: what a row says across its columns, what the rows of a series say together, and the receipt."""
