"""Explanations."""
