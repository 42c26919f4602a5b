"""The command line: arguments, shared options, who types, receipts and results."""
