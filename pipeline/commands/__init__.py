"""One room per command: typed arguments in, an `CommandResult` out; nothing here prints."""
