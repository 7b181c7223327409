"""What a command prints first: what its user asked for, in a dozen lines. The tables beside it hold the detail."""
