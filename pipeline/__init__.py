"""What is done: intake, check, load, normalise, compare; `jobs` is the only place where they meet."""
