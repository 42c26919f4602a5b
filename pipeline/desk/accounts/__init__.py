"""Who may sign in: the accounts file, passphrases, tokens, people."""
