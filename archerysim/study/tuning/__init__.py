"""The best reading, or another setting."""
