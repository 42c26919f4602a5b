"""The store that is made from the truth: tables, rows, kept rows, readers' copies, and how older ones come up."""
