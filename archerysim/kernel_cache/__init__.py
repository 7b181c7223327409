"""What is kept from run to run: compiled kernels, in a folder of the user's own."""
