"""An archer's own measurements."""
