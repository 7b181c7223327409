"""``archerysim target``: what the target looks like, fletched group and bare shaft."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import (
    Commands,
    add_command,
    add_draws,
    add_inputs,
    add_left_handed,
    add_workers_and_store,
    bow_of,
    once,
)
from archerysim.cli.output import plot

TEXT = "what the target looks like: where the fletched group and the bare shaft land on the face, and how sure that is"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "target", run, TEXT)
    parser.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    parser.add_argument("--face", default="40 cm", metavar="LENGTH", help='diameter of the face (default "40 cm")')
    parser.add_argument("--untaped", action="store_true", help="the bare shaft carries no tape of the fletching's mass")
    add_left_handed(parser)
    add_draws(parser)
    add_inputs(parser)
    add_workers_and_store(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.equipment.readings import read_by
    from archerysim.shot.flight.fly import check_distance
    from archerysim.shot.flight.side_gap import side_gap_change
    from archerysim.show.answers.target import scale_told, target_answer
    from archerysim.show.bare_shaft.target_card import FACE
    from archerysim.study.bare_shaft.bare_shaft import bare_against_fletched
    from archerysim.study.bare_shaft.flights import STEPS, readings_of

    check_distance(options.distance)
    face = FACE.single("face", options.face, "refused")
    bow = bow_of(options)
    by = read_by(bow.setup)
    around = [by.reading(one) for one in readings_of(bow.given, None, bow.reading, STEPS)]
    taped = not options.untaped
    found = bare_against_fletched(
        bow, (around, "m"), [options.distance], draws=options.draws, uncertainty=once(options.known_to),
        seed=options.seed, taped=taped, workers=options.workers, store=options.store,
    )  # fmt: skip
    change = side_gap_change(bow, options.distance, taped=taped)
    print(target_answer(found, bow.launch(), face, options.distance, change))
    if options.plot:
        card = show.target_card(found, face_diameter=(face, "m"), readings=([by.reading(bow.reading)], "m"))
        plot(options, lambda: card)
        print(f"\nWritten: {options.plot}. {scale_told(card, face)}")
    return 0
