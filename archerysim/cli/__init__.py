"""The command line: a file a command, what it accepts and what it does."""
