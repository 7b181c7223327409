"""``archerysim group``: many shots by a hand that is not always the same."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from archerysim.cli.options import Commands, add_command, add_workers_and_store, bow_of, once, pair
from archerysim.cli.output import plot, tell_edits

TEXT = "a group of shots by hands that vary from shot to shot: how wide it is, fletched and bare"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "group", run, TEXT)
    parser.add_argument(
        "--compare", choices=("readings", "locators"),
        help="groups by the same hands: at readings away from the one without angle of attack, or with one locator "
            "or two",
    )  # fmt: skip
    parser.add_argument("--shots", type=int, default=30, metavar="N", help="shots (default 30)")
    parser.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    parser.add_argument(
        "--scatter", action="append", default=[], metavar="NAME=VALUE", type=pair,
        help='standard deviation from shot to shot, for example "release_time=2 ms"; draw_length, finger_shares, '
        "release_time, hand_torque or nock_fit; may be given again; the others as usual for a steady club archer",
    )  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=0, metavar="N", help="the same seed draws the same hands (default 0)"
    )
    add_workers_and_store(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.groups.table import group_table
    from archerysim.study.groups.compare import compare_locators, group_by_reading
    from archerysim.study.groups.group import group

    scatter = _scatter(options.scatter)
    bow = bow_of(options)
    studies: dict[str | None, tuple[Callable[..., Any], Callable[[Any], Any]]] = {
        None: (group, show.group),
        "readings": (group_by_reading, show.group_by_reading),
        "locators": (compare_locators, show.locators_compared),
    }
    study, picture = studies[options.compare]
    found = study(
        bow, options.shots, scatter=scatter, distance=options.distance, seed=options.seed, workers=options.workers,
        store=options.store,
    )  # fmt: skip
    print(group_table(found))
    tell_edits(bow)
    plot(options, lambda: picture(found), bow)
    return 0


def _scatter(pairs: list[tuple[str, str]]) -> Any:
    """The usual scatter but for what is given; hyphens count as underscores."""
    from archerysim.equipment import SetupError
    from archerysim.study.groups.scatter import SPREADS, Scatter

    sizes = once([(name.replace("-", "_"), size) for name, size in pairs])
    for name in sizes:
        if name not in SPREADS:
            raise SetupError(f"scatter.{name}", "unknown name", f"Use one of {', '.join(SPREADS)}")
    return Scatter(**sizes)
