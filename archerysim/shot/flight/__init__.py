"""From clear to the target."""
