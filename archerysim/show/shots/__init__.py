"""One shot and its bow."""
