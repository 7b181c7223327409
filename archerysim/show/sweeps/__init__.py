"""Sweeps."""
