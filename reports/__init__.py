"""What is shown: frames in, pages out. Never asks where numbers came from."""
