"""From the bytes that a member sent to typed cells: decode, find the heading, split, convert."""
