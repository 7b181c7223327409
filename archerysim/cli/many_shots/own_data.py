"""``archerysim own-data``: what was measured on the bow beside the model, and what it determines."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_fixed_command, add_workers, once, pair, setup_of
from archerysim.cli.output import plot

TEXT = "your own draw forces, speeds and film tracks beside the model, and the inputs that they determine"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_fixed_command(commands, "own-data", run, TEXT)
    parser.add_argument("--draw-force", metavar="FILE", help="points of the draw-force curve, from a scale (.csv)")
    parser.add_argument("--speeds", metavar="FILE", help="arrow speeds, from a chronograph (.csv)")
    parser.add_argument("--track", metavar="FILE", help="nock and point over time, from a film (.csv)")
    parser.add_argument(
        "--error", action="append", default=[], metavar="KIND=VALUE", type=pair, dest="errors",
        help='standard deviation of one measured value, for example "track=0.3 mm"; draw_force, speeds or track; '
        "may be given again",
    )  # fmt: skip
    parser.add_argument(
        "--free", action="append", default=[], metavar="PATH",
        help='an input to be found, for example "limbs.mass"; may be given again; without any, only the '
        "film's clock and origin are fitted",
    )  # fmt: skip
    parser.add_argument(
        "--prior", action="append", default=[], metavar="PATH=VALUE", type=pair,
        help='how well a free input is known beforehand (one standard deviation), for example "limbs.mass=10 %%"',
    )  # fmt: skip
    add_workers(parser)
    parser.add_argument("--out", metavar="FILE", help="write the setup with the inputs found (.toml); with --free")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.measured.table import determined_table, residual_table
    from archerysim.study.measured.data import OwnData
    from archerysim.study.measured.fit_data import compare_data, fit_data

    _refuse_without_free(options)
    setup = setup_of(options, (".toml",))
    data = OwnData.read(options.draw_force, options.speeds, options.track)
    errors = once(options.errors)
    if not options.free:
        compared = compare_data(setup, data, errors=errors, mesh=options.mesh, planes=options.planes)
        print(residual_table(compared))
        plot(options, lambda: show.own_data(compared))
        return 0
    found = fit_data(
        setup, data, options.free, prior=once(options.prior), errors=errors, mesh=options.mesh,
        planes=options.planes, workers=options.workers,
    )  # fmt: skip
    print(determined_table(found))
    if options.out:
        found.setup.save(options.out)
    plot(options, lambda: show.own_data(found))
    return 0


def _refuse_without_free(options: Any) -> None:
    from archerysim.equipment import SetupError

    for name in ("prior", "out"):
        if getattr(options, name) and not options.free:
            raise SetupError(name, "there is no input to find", "Name one with --free, or leave it out")
