"""Compiled mechanics: numbers only."""
