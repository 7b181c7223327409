"""``archerysim animate``: the release in slow motion."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_left_handed, add_motion, bow_of

TEXT = "the release in slow motion: bow, nock, rest and arrow from full draw until clear, in one file"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "animate", run, TEXT, picture=False)
    parser.add_argument(
        "-o", "--out", required=True, metavar="FILE",
        help="write the moving picture: .html (a page with a player), .gif, or .mp4 (needs the program ffmpeg)",
    )  # fmt: skip
    add_motion(parser)
    add_left_handed(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.shot.side_change import side_change
    from archerysim.show.answers.motion import release_told
    from archerysim.show.motion.animate import animate, check_motion

    check_motion(options.out, options.frames, options.slow, "out")
    bow = bow_of(options)
    launch = bow.launch(trace=True)
    animate(launch, options.out, frames=options.frames, slow=options.slow)
    print(release_told(launch, options.out, side_change(bow)))
    return 0
