"""From shot to shot."""
