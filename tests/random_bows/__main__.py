"""`python -m tests.random_bows`: shoot 500 random bows and look at every refusal a second way.

``--again 400``: shoot random bows as built until so many were shot; measure each and fit it again.
"""

from __future__ import annotations

import argparse
import sys

from tests.random_bows.shooting import Outcome, built_again, outcomes, table
from tests.random_bows.test_random_bows import LEAST_BACK, LEAST_SHOT, MOST_DOUBTFUL, SEED


def main() -> int:
    """0 where enough are shot, every reason holds and enough come back."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=500)
    options.add_argument("--again", type=int, metavar="COUNT", help="built bows measured and fitted again, instead")
    options.add_argument("--seed", type=int, default=SEED)
    options.add_argument("--mesh", default="default")
    asked = options.parse_args()
    if asked.again:
        return all_back(list(built_again(asked.again, asked.seed, asked.mesh)))
    return all_true(list(outcomes(asked.count, asked.seed, asked.mesh)))


def all_true(found: list[Outcome]) -> int:
    """0 where enough bows are shot, every refusal holds and nothing speaks against those shot."""
    print(table(found))
    shot = sum(not one.reason for one in found)
    doubtful = sum(not one.confirmed for one in found)
    return int(
        shot < LEAST_SHOT * len(found) or doubtful > MOST_DOUBTFUL * len(found) or any(one.against for one in found)
    )


def all_back(found: list[Outcome]) -> int:
    """0 where enough of the bows that were shot are the same when they are measured and fitted again."""
    print(table(found))
    shot = [one for one in found if not one.reason]
    back = sum(not one.against for one in shot)
    print(f"{back} of {len(shot)} built bows came back")
    return int(back < LEAST_BACK * len(shot))


if __name__ == "__main__":
    sys.exit(main())
