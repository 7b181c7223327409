"""Wood taken off, and limbs planned: even tiller, the tillering tree, thickness for a draw weight."""
