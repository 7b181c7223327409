"""``archerysim compare``: what lies between two setups."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from archerysim.cli.options import Commands, add_all, add_plain_command
from archerysim.cli.output import plot

if TYPE_CHECKING:
    from archerysim.equipment import Setup

TEXT = "two setups: what differs, and what each change does to brace, draw, launch and bare shafts"


def add(commands: Commands) -> None:
    """What the command accepts."""
    from archerysim.shot.planes import PLANES

    parser = add_plain_command(commands, "compare", run, TEXT)
    parser.add_argument("setup", metavar="SETUP", help="setup file (.toml): before")
    parser.add_argument("other", metavar="OTHER", help="setup file (.toml): after")
    parser.add_argument(
        "--distance",
        default="18 m",
        metavar="DISTANCE",
        help="distance at which bare and fletched shafts are compared (default 18 m)",
    )
    parser.add_argument("--plot", metavar="FILE", help="write a picture, before and after (.png, .svg or .pdf)")
    parser.add_argument(
        "--mesh", choices=("coarse", "default", "fine"), default="default", help="how finely to divide the bow"
    )
    parser.add_argument("--planes", type=int, choices=(1, 2), help=f"as for shoot; default: {PLANES}")
    add_all(parser, "every change, made first and made last, with pitch, energy, left and right")


def _by_file(before: Setup, file: str, after: Setup, other: str) -> tuple[Setup, Setup]:
    """Two setups of one name, called as their files are; by the whole path where these too are alike."""
    called = [os.path.basename(file), os.path.basename(other)]
    if called[0] == called[1]:
        called = [file, other]
    return before.replace({"name": called[0]}), after.replace({"name": called[1]})


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.cli.options import setup_of
    from archerysim.equipment import load
    from archerysim.show.two_setups.table import compare_table
    from archerysim.study.two_setups.compare import compare

    before, after = setup_of(options), load(options.other)
    if before.name == after.name:
        before, after = _by_file(before, options.setup, after, options.other)
    found = compare(before, after, distance=options.distance, mesh=options.mesh, planes=options.planes)
    print(compare_table(found, options.distance, options.everything))
    plot(options, lambda: show.before_and_after(found))
    return 0
