"""From records to the kernels' arrays."""
