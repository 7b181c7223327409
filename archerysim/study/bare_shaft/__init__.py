"""Bare beside fletched shafts."""
