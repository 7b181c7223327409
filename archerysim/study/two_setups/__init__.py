"""Two setups: in what they differ, and what each difference does."""
