"""Imported once by the server that forks workers: loads the kernels, so that no worker has to."""

from archerysim.shot.warm_up import is_cold, shoot_once

if not is_cold():
    shoot_once()
