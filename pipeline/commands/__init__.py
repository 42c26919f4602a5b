"""One room per command: typed arguments in, an `Answer` out; nothing here prints."""
