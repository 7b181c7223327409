"""An invented season of one archer: what the notes of each evening say, and what was true all along.

python examples/season.py
"""

from pathlib import Path

import archerysim
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.show.notes.table import diagnosis_table
from archerysim.study.notes.notes_file import Notes, load_notes
from archerysim.study.notes.read_group import Diagnosis, diagnose

EXAMPLES = Path(__file__).resolve().parent
# What the archer's hands do and the setup file does not know; with it these arrows were shot.
HIDDEN = {
    "archer.side_roll": "3.8 deg", "archer.side_hold": "1 mm", "archer.release_time": ["4.5 ms"] * 3,
    "archer.finger_shares": [0.28, 0.48, 0.24],
}  # fmt: skip


def until(notes: Notes, date: str) -> Notes:
    """The notes as they stood on the evening of a day, before anything was changed on it after the last group."""
    groups = tuple(group for group in notes.group if (group.date or "") <= date)
    changes = tuple(change for change in notes.change if notes.groups_before(change) < len(groups))
    return Notes(name=notes.name, butt=notes.butt, group=groups, change=changes)


def evenings(notes: Notes) -> list[str]:
    """The days on which was shot."""
    return sorted({group.date for group in notes.group if group.date})


def read_all() -> list[tuple[str, Diagnosis]]:
    """Each evening, and what the notes up to it say."""
    bow = archerysim.fit(archerysim.load(EXAMPLES / "club-outdoor.toml"))
    notes = load_notes(EXAMPLES / "season.toml")
    return [(day, diagnose(bow, until(notes, day), further=False, progress=False)) for day in evenings(notes)]


def true_gaps() -> list[tuple[str, float, float]]:
    """Each evening, and where the bare shafts of the true bow land: above the fletched ones, to the right [cm]."""
    notes = load_notes(EXAMPLES / "season.toml")
    true = archerysim.fit(archerysim.load(EXAMPLES / "club-outdoor.toml")).with_changes(HIDDEN)
    gaps = []
    for day in evenings(notes):
        last = len(until(notes, day).group) - 1
        launch = true.with_changes(notes.changed_before(last)).at_reading((notes.group[last].reading, "m"))
        gap = bare_difference(launch, (notes.group[last].distance, "m"))
        gaps.append((day, 100.0 * gap.height, -100.0 * gap.side))  # off the window is left for a right-handed archer
    return gaps


def main() -> None:
    """Read each evening's notes, then tell the truth."""
    for day, found in read_all():
        print(f"--- {day}\n{diagnosis_table(found)}")
    print("--- what was true")
    for day, up, right in true_gaps():
        side = "right" if right > 0.0 else "left"
        height = f"{abs(up):.1f} cm {'above' if up > 0.0 else 'below'}"
        print(f"{day}: bare shafts {height} the fletched ones and {abs(right):.1f} cm {side} of them, but for scatter")


if __name__ == "__main__":
    main()
