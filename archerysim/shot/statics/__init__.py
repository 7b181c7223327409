"""The bow at rest: fitted, braced, drawn."""
