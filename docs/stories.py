"""The worked stories: every command and script on their pages, with what it prints, and the pictures they leave."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from said import EXAMPLES, said

END = (
    'archerysim read-group examples/barebow.toml --at "18 m" --reading "6 mm" --fletched "{}" --bare "{}" '
    "--date 2026-04-{} --save out/notes.toml"
)
FIRST = END.format("1 -2 0 3 -1 2 cm", "4 7 6 cm", "11")
SECOND = END.format("0 2 -3 1 -1 1 cm", "8 3 5 cm", "18") + " --plot out/groups.png"
WHY = 'archerysim explain examples/barebow.toml --set "nock.locators.reading=6 mm"'
ALONE = 'archerysim tune examples/barebow.toml --set "nock.locators.reading=6 mm"'  # told in words
IN = '"turn lower 1/4 turn in"'
TURN = f"archerysim change examples/club-outdoor.toml {IN}"
BOTH = f'archerysim change examples/club-outdoor.toml {IN} "turn upper 1/4 turn in" --draws 0'
BENT = "archerysim strain examples/flatbow.toml --plot out/flatbow-limbs.png"
PASSES = (
    'archerysim change examples/flatbow.toml "scrape lower belly 10 cm to 45 cm 0.4 mm" '
    '"scrape lower belly 15 cm to 40 cm 0.3 mm" --draws 0 --all --plot out/flatbow.png'
)
OUTER = 'archerysim change examples/flatbow.toml "scrape lower belly 45 cm to 65 cm 0.5 mm" --draws 0 --all'
BREAKS = (
    " --fletched",
    " --date",
    ' "scrape lower',
    ' "turn upper',
    " --draws 0 --all --plot",
)  # a new line before each
# the lines of each story, in the order in which they are typed
STORIES: dict[str, tuple[str, ...]] = {
    "researcher": ("python examples/researcher.py",),
    "coach": (FIRST, SECOND, WHY, "python examples/coach.py"),
    "bowmaker": (TURN, BOTH, "python examples/bowmaker.py"),
    "flatbow": (BENT, PASSES, OUTER),
}
# pictures on the pages, by story: name in docs/images, and the file that the story leaves
PICTURES = {
    "researcher": {"story-researcher": "out/researcher.png"},
    "coach": {"story-coach": "out/coach-strips.png", "story-coach-groups": "out/groups.png"},
    "bowmaker": {"story-bowmaker": "out/bowmaker.png"},
    "flatbow": {"story-flatbow-limbs": "out/flatbow-limbs.png", "story-flatbow": "out/flatbow.png"},
}


def step(story: str, count: int) -> str:
    """A line of a story, counted from 0, with what it prints; those before it are run first."""
    line = STORIES[story][count]
    printed = said(*STORIES[story]).printed[line]
    wrapped = line
    for one in BREAKS:
        wrapped = wrapped.replace(one, f" \\\n   {one}")
    return f"```text\n$ {wrapped}\n{printed}\n```"


def script(story: str) -> str:
    """A story's script as it stands."""
    return f"```python\n{(EXAMPLES / f'{story}.py').read_text(encoding='utf-8').rstrip()}\n```"


def pictures() -> dict[str, bytes]:
    """The stories' pictures, as their commands and scripts leave them."""
    return {
        name: said(*STORIES[story]).files[path] for story, files in PICTURES.items() for name, path in files.items()
    }


TABLES: dict[str, Callable[[], str]] = {
    **{f"{story}-{k}": partial(step, story, k) for story, lines in STORIES.items() for k in range(len(lines))},
    "researcher-script": partial(script, "researcher"),
}
