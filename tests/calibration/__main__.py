"""`python -m tests.calibration`: 200 archers whose truth is known, read by real shots.

0 where the 90 % intervals hold 88 to 92 % of the truths and 97 % of the moves go the right way.
"""

from __future__ import annotations

import argparse
import os
import sys

import numpy as np

from archerysim.study.notes.priors import causes_of
from tests.calibration.simulated import Read, reads, table
from tests.support.shot.example_bows import built

HELD = (0.88, 0.92)
RIGHT = 0.97


def main() -> int:
    """0 where it holds what it says."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=200)
    options.add_argument("--planes", type=int, default=2)
    options.add_argument("--mesh", default="default")
    options.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked = options.parse_args()
    found: list[Read] = []
    for one in reads(asked.count, asked.planes, asked.mesh, asked.workers):
        found.append(one)
        if sys.stderr.isatty() or len(found) % 20 == 0:
            print(f"\r{len(found)} of {asked.count}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    names = [cause.name for cause in causes_of(built("club-outdoor", asked.mesh), asked.planes)]
    print(table(found, names))
    moves = [one.right for one in found if one.way in ("up", "down")]
    inside = np.mean([one.inside for one in found if one.inside.size])
    return int(not HELD[0] <= inside <= HELD[1] or np.mean(moves) < RIGHT)


if __name__ == "__main__":
    sys.exit(main())
