"""Keeping a pool for years: open, rebuild, verify, back up."""
