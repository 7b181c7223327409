"""Tunes."""
