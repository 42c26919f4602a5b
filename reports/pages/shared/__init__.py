"""What several pages show alike: growers, held rows, minutes of the reader's own pot."""
