"""Letting go."""
