"""What to measure on a bow, drawn: pages to print and to fill in."""
