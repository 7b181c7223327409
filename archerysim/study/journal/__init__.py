"""The archer's journal: what was changed, what it was to do, what it did, and what to look at next."""
