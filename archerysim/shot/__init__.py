"""One shot: build the arrays, brace, draw, let go, report."""
