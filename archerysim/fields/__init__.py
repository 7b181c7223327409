"""What a value of a setup is: its unit, range, default and source, said once; reading and writing it."""
