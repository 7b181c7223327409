"""Shots over ranges of values."""
