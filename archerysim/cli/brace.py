"""``archerysim brace``: the bow fitted to its measures, and braced."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, setup_of
from archerysim.cli.output import plot

TEXT = "the braced bow: brace height, tillers, readings; a fit's misses"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "brace", run, TEXT)
    parser.add_argument("--out", metavar="FILE", help="write the setup as built (.toml)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.errors import ShotError
    from archerysim.shot.before import before_of
    from archerysim.shot.shoot import brace, draw
    from archerysim.shot.statics.fit import fit
    from archerysim.show.shots.table import brace_table

    setup, before = setup_of(options, (".toml",))
    fitted = fit(setup, options.mesh)
    braced = brace(fitted.setup, options.mesh)
    try:
        curve = draw(fitted.setup, 2, options.mesh, before=before_of(before, options.mesh, setup))
    except ShotError:
        curve = None
    print(brace_table(fitted, braced, curve))
    if options.out:
        fitted.setup.save(options.out)
    plot(options, lambda: show.square(fitted.setup))
    return 0
