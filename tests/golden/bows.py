"""Twenty bows drawn at random from a seed and kept as setup files, so that they stay the same bows.

``python -m tests.golden.bows`` draws them anew; the record is then to be written anew too.
"""

from __future__ import annotations

import numpy as np

from tests.golden.pieces import BOWS
from tests.support.equipment.random_setups import RANGES, random_setup

SEED, EACH = 20, 4


def draw_bows() -> None:
    """Write the bows anew, as many of each category."""
    BOWS.mkdir(exist_ok=True)
    for category in RANGES:
        rng = np.random.default_rng([SEED, *category.encode()])
        for count in range(1, EACH + 1):
            random_setup(rng, category).save(BOWS / f"{category}-{count}.toml")


if __name__ == "__main__":
    draw_bows()
