"""Invented sample sheets: a federation of bog-plant clubs that does not exist, and the program that draws it."""
