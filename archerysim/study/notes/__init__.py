"""Reading an archer's groups."""
