"""Commands about one bow and one shot."""
