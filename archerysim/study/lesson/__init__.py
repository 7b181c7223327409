"""A lesson for a class: what locators, tiller, nock, shaft, rest and side support do to the arrow's flight."""
