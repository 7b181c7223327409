"""The archer's journal in words."""
