"""Keeping a pool for years: rebuild, verify, back up, erase."""
