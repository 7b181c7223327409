"""Two setups beside each other: what differs, what that does, before and after."""
