"""Forces of the parts on each other."""
