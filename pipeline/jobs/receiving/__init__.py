"""Receiving sheets: files, their check, the inbox, the way into the pool."""
