"""A first setup file: what is asked, what is usual where there is no answer, and the file with its guesses marked."""
