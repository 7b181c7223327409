"""Outcomes of the kernels, as numbers; the edge turns each into a sentence."""

OK = 0
NO_CONVERGENCE = 1
SINGULAR = 2
NOT_FINITE = 3
SLACK_STRING = 4
TIME_CAP = 5
OFF_REST = 6
UNSTEADY = 7
UNSTABLE = 8
LIES_TOO_FAR = 9
