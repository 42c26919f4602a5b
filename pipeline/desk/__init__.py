"""The desk: members send sheets and ask the pool from a browser; the coordinator's room. See `steps.py`."""
