"""Why the arrow left as it did."""
