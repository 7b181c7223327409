"""``archerysim sweep``: many shots over ranges of values."""

from __future__ import annotations

import sys
from typing import Any

from archerysim.cli.options import Commands, add_command, add_inputs, add_workers_and_store, bow_of, once, pair
from archerysim.cli.output import plot, warnings_in_a_line

TEXT = "many shots over ranges of values"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "sweep", run, TEXT)
    parser.add_argument(
        "--over", action="append", required=True, metavar="PATH=START:STOP:STEP", type=pair,
        help='what is varied, for example "nock.locators.reading=4 mm:12 mm:0.5 mm", or values with commas; '
        "if given again, every combination is shot",
    )  # fmt: skip
    parser.add_argument("--out", metavar="FILE", help="write the table (.csv or .nc)")
    parser.add_argument(
        "--show", action="append", default=[], metavar="COLUMN",
        help="a column of --out to print as well, and to draw by --plot in place of the usual ones, for example "
        "arm_left_travel or side_angle_of_attack (which is given against the bow's own point); may be given again",
    )  # fmt: skip
    parser.add_argument(
        "--band", nargs="?", type=int, const=True, default=False, metavar="N",
        help="how certain the curves are: shoot the same points with 32 or N bows that all fit what was measured (a "
        "power of two); the table and the picture then show their 5 %% and 95 %% points",
    )  # fmt: skip
    add_inputs(parser)
    add_workers_and_store(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.sweeps.table import sweep_table
    from archerysim.study.run.interrupted import Interrupted
    from archerysim.study.sweeps.sweep import sweep
    from archerysim.study.sweeps.table_file import save

    shown = tuple(dict.fromkeys(options.show))
    _check_columns(shown)
    with warnings_in_a_line():
        try:
            data = sweep(
                bow_of(options, (".csv", ".nc")),
                once(options.over),
                hold=options.hold,
                workers=options.workers,
                store=options.store,
                band=options.band,
                uncertainty=once(options.known_to),
            )
        except Interrupted as left:
            return _interrupted(left, options)
    if options.store:
        print("{points_read} points read, {points_computed} computed".format(**data.attrs), file=sys.stderr)
    if options.out:
        save(data, options.out)
    print(sweep_table(data, shown))
    plot(options, lambda: show.sweep(data, shown or None))
    return 0


def _check_columns(names: tuple[str, ...]) -> None:
    """Refuse a column that no sweep has, before anything is shot."""
    from archerysim.errors import UsageError
    from archerysim.shot.columns import MOMENT, SHOT

    there = [one.name for one in (*MOMENT, *SHOT)]
    for name in names:
        if name not in there:
            raise UsageError("show", f"a sweep has no column {name!r}", f"give one of {', '.join(there)}")


def _interrupted(left: Any, options: Any) -> int:
    """A sweep that was interrupted: what is done is printed and written, and how to go on."""
    from archerysim.show.sweeps.table import sweep_table
    from archerysim.study.sweeps.table_file import save

    sentences = [f"interrupted: {left.done} of {left.total} points are shot"]
    if "draws_not_shot" in left.data.attrs:
        sentences[0] += ", of the band {draws} draws, {draws_not_shot} not".format(**left.data.attrs)
    print(sweep_table(left.data, options.show), flush=True)
    if options.out:
        save(left.data, options.out)
        others = ", and the others as not shot" if left.done < left.total else ""
        sentences.append(f"{options.out} holds them{others}")
    if options.plot:
        sentences.append("no picture is drawn")
    if options.store:
        sentences.append(f"they are kept in {options.store}: the same command goes on from there")
    else:
        sentences.append("with --store FILE they would be kept, and the same command would go on from there")
    print(f"archerysim: {'; '.join(sentences)}", file=sys.stderr)
    return 130
