"""A bow as a problem for other libraries: a vector in, named numbers, residuals and likelihoods out."""
