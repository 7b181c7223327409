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
TURN = 'archerysim shoot examples/club-outdoor.toml --set "lower_limb.bolt_turns=0.25 turn"'
# the lines of each story, in the order in which they are typed
STORIES: dict[str, tuple[str, ...]] = {
    "researcher": ("python examples/researcher.py",),
    "coach": (FIRST, SECOND, WHY, "python examples/coach.py"),
    "bowmaker": (TURN, "python examples/bowmaker.py"),
}
# pictures on the pages, by story: name in docs/images, and the file that the story leaves
PICTURES = {
    "researcher": {"story-researcher": "out/researcher.png"},
    "coach": {"story-coach": "out/coach-strips.png", "story-coach-groups": "out/groups.png"},
    "bowmaker": {"story-bowmaker": "out/bowmaker.png"},
}


def step(story: str, count: int) -> str:
    """A line of a story, counted from 0, with what it prints; those before it are run first."""
    line = STORIES[story][count]
    printed = said(*STORIES[story]).printed[line]
    wrapped = line.replace(" --fletched", " \\\n    --fletched").replace(" --date", " \\\n    --date")
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
