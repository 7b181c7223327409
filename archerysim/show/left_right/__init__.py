"""Printed: what moves bare shafts sideways of fletched ones."""
