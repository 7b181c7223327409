"""``archerysim uncertainty``: how sure the answers are."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_inputs, add_workers_and_store, bow_of, known_to
from archerysim.cli.output import tell_guesses

TEXT = "how certain the answers are, given what measuring leaves open, and which inputs decide it"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "uncertainty", run, TEXT, picture=False)
    add_inputs(parser)
    parser.add_argument(
        "--draws", type=int, default=128, metavar="N", help="bows that all fit what was measured, a power of two "
        "(default 128)",
    )  # fmt: skip
    parser.add_argument(
        "--indices", action="store_true", help="also each input's share where inputs work together: takes some draws "
        "times inputs more shots",
    )  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=0, metavar="N", help="the same seed draws the same bows (default 0)"
    )
    add_workers_and_store(parser)
    parser.add_argument("--out", metavar="FILE", help="write the inputs and the answers of every draw (.csv)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.show.csv import write_draws
    from archerysim.show.uncertainty.table import uncertainty_table
    from archerysim.study.uncertainty.uncertainty import uncertainty

    bow = bow_of(options, (".csv",))
    found = uncertainty(
        bow, known_to(options, bow), draws=options.draws, indices=options.indices, seed=options.seed,
        workers=options.workers, store=options.store,
    )  # fmt: skip
    print(uncertainty_table(found))
    tell_guesses(options)
    if options.out:
        write_draws(found, options.out)
    return 0
