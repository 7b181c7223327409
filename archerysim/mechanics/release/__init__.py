"""The shot over time."""
