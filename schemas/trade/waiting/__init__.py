"""Which accepted runs wait for an answer: those far from their own series by an exact slip, and copies of a series."""
