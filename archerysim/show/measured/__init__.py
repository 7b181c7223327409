"""Own measurements."""
