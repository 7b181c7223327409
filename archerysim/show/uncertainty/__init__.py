"""Uncertainty."""
