"""Pictures: each file makes one, from plain values to a specification or an SVG with its text alternative."""
