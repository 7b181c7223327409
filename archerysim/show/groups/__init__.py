"""Groups."""
