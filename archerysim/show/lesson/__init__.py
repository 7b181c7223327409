"""A page for a class: one file that opens in any browser, without a server or a network."""
