"""Pictures and tables of results."""
