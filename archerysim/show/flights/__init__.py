"""Flights."""
