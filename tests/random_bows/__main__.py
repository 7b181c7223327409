"""`python -m tests.random_bows`: shoot 500 random bows and look at every refusal a second way."""

from __future__ import annotations

import argparse
import sys

from tests.random_bows.shooting import outcomes, table
from tests.random_bows.test_random_bows import LEAST_SHOT, MOST_DOUBTFUL, SEED


def main() -> int:
    """0 where enough are shot and every reason holds."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--count", type=int, default=500)
    options.add_argument("--seed", type=int, default=SEED)
    options.add_argument("--mesh", default="default")
    asked = options.parse_args()
    found = list(outcomes(asked.count, asked.seed, asked.mesh))
    print(table(found))
    shot = sum(not one.reason for one in found)
    doubtful = sum(not one.confirmed for one in found)
    return int(
        shot < LEAST_SHOT * len(found) or doubtful > MOST_DOUBTFUL * len(found) or any(one.against for one in found)
    )


if __name__ == "__main__":
    sys.exit(main())
