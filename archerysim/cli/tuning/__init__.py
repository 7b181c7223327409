"""Commands of tuning: from the first setup to groups, the journal and the bow's page."""
