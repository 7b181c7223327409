"""What the answer depends on, and how sure it is."""
