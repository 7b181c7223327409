"""Commands of the bow-maker's bench."""
