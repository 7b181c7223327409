"""Equilibria: brace, draw, fit to a draw weight, stability."""
