"""The bow-maker's bench: before and after in a table and a picture."""
