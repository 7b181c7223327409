"""``python -m tests.golden`` writes the record anew; with ``--check`` it holds the library against it.

With ``--add`` only what the record lacks is written into it.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from tests.golden.check import add, check, lost_pieces, tolerance_here, write
from tests.golden.compare import fails, report
from tests.golden.pieces import RECORD, pieces


def main() -> int:
    """Returns 1 where something differs."""
    asked = argparse.ArgumentParser(prog="python -m tests.golden", description=__doc__.replace("``", '"'))
    modes = asked.add_mutually_exclusive_group()
    modes.add_argument("--check", action="store_true", help="compare and write nothing")
    modes.add_argument("--add", action="store_true", help="write only what the record lacks; nothing in it is touched")
    asked.add_argument(
        "--only",
        action="append",
        default=[],
        metavar="WORDS",
        help='check only what is so called, for example "sweeps" or "junior / shot"',
    )
    asked.add_argument(
        "--numbers", action="store_true", help="pass where words were changed and their numbers were not"
    )
    asked.add_argument(
        "--within", type=float, metavar="SHARE", help="a tolerance of every number, in place of the bit or 1e-9"
    )
    asked.add_argument("--folder", type=Path, default=RECORD, help="of another record than the one kept here")
    options = asked.parse_args()
    begin = time.perf_counter()
    if not options.check and (options.only or options.numbers or options.within is not None):
        asked.error("--only, --numbers and --within go with --check")
    if options.add:
        count = len(add(options.folder))
        print(f"{count} pieces added in {options.folder} in {time.perf_counter() - begin:.0f} s")
        return 0
    if not options.check:
        write(options.folder)
        print(f"written into {options.folder} in {time.perf_counter() - begin:.0f} s")
        return 0
    if not options.folder.is_dir():
        asked.error(f"there is no record in {options.folder}")
    tolerance, words = tolerance_here(options.folder)
    if options.within is not None:
        tolerance, words = options.within, f"compared to {options.within:g}, as asked"
    print(words)
    some = [piece for piece in pieces() if not options.only or any(one in piece.words for one in options.only)]
    if not some:
        asked.error(f"nothing is called {' or '.join(options.only)}")
    comparison = check(some, tolerance, options.folder)
    lost = [] if options.only else lost_pieces(options.folder)
    print(report(comparison))
    print(*(f"{one}: nobody asks for it any more" for one in lost), sep="\n", end="\n" if lost else "")
    failed = bool(lost or fails(comparison, not options.numbers))
    print("DIFFERENT" if failed else "the same", f"({len(some)} pieces, {time.perf_counter() - begin:.0f} s)")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
