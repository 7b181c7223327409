"""What the pages for a browser share: drawing, style, a clock that is played, and how a page becomes one file."""
