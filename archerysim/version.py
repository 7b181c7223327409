"""The library's version."""

VERSION = "0.1.0"
