"""Commands that shoot many times and tell how sure the numbers are."""
