"""Many shots."""
