"""The bow-maker's bench: what is done to a bow as built, and what it does."""
