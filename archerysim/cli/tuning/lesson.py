"""``archerysim lesson``: a page for a class, on which settings are moved and three arrows fly at once."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_workers, bow_of

TEXT = "a page for a class, in one file: move locators, tiller, nock, shaft, rest; see arrows porpoise and fishtail"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "lesson", run, TEXT, picture=False)
    parser.add_argument("-o", "--out", required=True, metavar="FILE", help="write the page (.html)")
    parser.add_argument("--distance", default="18 m", metavar="LENGTH", help='of the target (default "18 m")')
    add_workers(parser)


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.fields.file_writing import write_text
    from archerysim.show.lesson.page import lesson_page
    from archerysim.show.lesson.told import lesson_told
    from archerysim.study.lesson.lesson import lesson

    found = lesson(bow_of(options, (".html",)), options.distance, workers=options.workers)
    write_text(options.out, lesson_page(found), "out")
    print(lesson_told(found, options.out))
    return 0
