"""What is recorded: pieces, each a question asked of one bow, in files of one kind."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any

from tests.golden import calls

FOLDER = Path(__file__).parent
RECORD = FOLDER / "record"
BOWS = FOLDER / "bows"
EXAMPLES = ("club-outdoor", "club-indoor", "barebow", "junior")
NOTES = calls.ROOT / "examples" / "notes.toml"
OWN = {name: FOLDER / "own" / f"{name}.csv" for name in ("draw_force", "speeds", "track")}
KINDS = ("fits", "draw curves", "shots", "flights", "sweeps", "studies", "commands", "both planes")
AT_REST = ("check", "brace", "draw", "strain")  # commands that do not shoot
POINTS = 25  # of a draw curve
READING, BOLT, POINT, DRAW = "nock.locators.reading", "upper_limb.bolt_turns", "arrow.point_mass", "archer.draw_length"
HOLDS: dict[str, Any] = {
    "nothing": None, "reading": "reading", "brace height": "brace height",
    "reading and brace height": ("reading", "brace height"),
}  # fmt: skip
INPUTS = {READING: "0.5 mm", "bow.upper_tiller": "1 mm", "arrow.spine": "0.01 in", "archer.finger_shares.0": "0.1"}


@dataclass(frozen=True)
class Piece:
    """One question: the file in which its answer stands, where in it, and how it is answered now."""

    kind: str
    bow: str
    name: str
    make: Callable[[], Any]

    @property
    def words(self) -> str:
        return " / ".join(part for part in (self.kind, self.bow, self.name) if part)

    def answer(self) -> Any:
        """The answer, or the reason why there is none."""
        return calls.answered(self.make)


@dataclass(frozen=True)
class Shooter:
    """A bow and the mesh on which it is shot; what several pieces need is made once."""

    name: str
    path: Path
    mesh: str

    @property
    def seeded(self) -> bool:
        return self.name not in EXAMPLES

    def setup(self) -> Any:
        return _setup(self.path)

    def launch(self, planes: int = calls.FLAT) -> Any:
        return _launch(self, planes)


@cache
def _setup(path: Path) -> Any:
    return calls.bow(path)


@cache
def _launch(shooter: Shooter, planes: int) -> Any:
    return calls.shoot(shooter.setup(), shooter.mesh, True, planes)


def shooters() -> tuple[Shooter, ...]:
    """The four examples, and the bows drawn at random."""
    examples = (Shooter(name, calls.ROOT / "examples" / f"{name}.toml", "default") for name in EXAMPLES)
    return (*examples, *(Shooter(path.stem, path, "coarse") for path in sorted(BOWS.glob("*.toml"))))


def pieces() -> Iterator[Piece]:
    """All pieces, in the order of the files."""
    makers = dict(
        zip(KINDS, (_fits, _curves, _shots, _flights, _sweeps, _studies, _commands, _both_planes), strict=True)
    )
    for kind, maker in makers.items():
        for shooter in shooters():
            for name, make in maker(shooter).items():
                yield Piece(kind, shooter.name, name, make)


Questions = dict[str, Callable[[], Any]]


def _fits(one: Shooter) -> Questions:
    return {"fit": lambda: calls.fit(one.setup(), one.mesh), "brace": lambda: calls.brace(one.setup(), one.mesh)}


def _curves(one: Shooter) -> Questions:
    return {"draw curve": lambda: calls.draw_curve(one.setup(), one.mesh, POINTS)}


def _shots(one: Shooter) -> Questions:
    found: Questions = {"shot": lambda: calls.shot(one.launch()), "trace": lambda: calls.trace(one.launch())}
    return found if one.seeded else found | {"pictures": lambda: calls.pictures(one.launch())}


def _flights(one: Shooter) -> Questions:
    ways: dict[str, tuple[str, dict[str, Any]]] = {
        "fletched, 18 m": ("18 m", {}),
        "bare, 18 m": ("18 m", {"fletched": False}),
    }
    if not one.seeded:
        ways |= {
            "fletched, 50 m": ("50 m", {"bending": True}),
            "bare without tape, 30 m": ("30 m", {"fletched": False, "taped": False}),
            "bare with its own sight, 18 m": ("18 m", {"fletched": False, "sight": "own"}),
            "launched without fault, 18 m": ("18 m", {"perfect": True, "boundary_layer": "turbulent"}),
            "without lift, 30 m": ("30 m", {"lift": False}),
            "aimed level, down to the ground": ("60 m", {"elevation": "0 deg", "ground": "-1.5 m"}),
        }
    found: Questions = {
        name: partial(_flight, one, distance, how) for name, (distance, how) in ways.items()
    }  # fmt: skip
    for distance in ("18 m",) if one.seeded else ("18 m", "30 m"):
        found[f"bare beside fletched, {distance}"] = partial(_beside, one, distance)
    return found


def _flight(one: Shooter, distance: str, how: dict[str, Any]) -> Any:
    return calls.flight(one.launch(), distance, **how)


def _beside(one: Shooter, distance: str) -> Any:
    return calls.bare_beside_fletched(one.launch(), distance)


def _sweeps(one: Shooter) -> Questions:
    bolts = {BOLT: (-0.5, 0.5) if one.seeded else (-1.0, -0.5, 0.0, 0.5)}
    found: Questions = {f"bolts, {name} held": partial(_sweep, one, hold, bolts) for name, hold in HOLDS.items()}
    found["brace height, fitted anew"] = partial(_refitted, one)
    if not one.seeded:
        found |= {
            "reading": partial(_sweep, one, None, {READING: "3 mm:12 mm:1.5 mm"}),
            "point and draw": partial(_sweep, one, None, {POINT: ("100 gr", "120 gr"), DRAW: ("25 in", "26 in")}),
            "cases": partial(_cases, one),
        }
    return found


def _sweep(one: Shooter, hold: Any, over: dict[str, Any]) -> Any:
    return calls.sweep(one.setup(), one.mesh, hold, over=over)


def _refitted(one: Shooter) -> Any:
    height = calls.value(one.setup(), "bow.brace_height")
    return _sweep(one, "refit", {"bow.brace_height": tuple(height + step for step in (-0.004, 0.003))})


def _cases(one: Shooter) -> Any:
    table = {READING: ("5 mm", "9 mm", "7 mm"), "rest.stiffness": ("600 N/m", "1200 N/m", "2400 N/m")}
    return calls.sweep(one.setup(), one.mesh, "brace height", cases=table)


def _studies(one: Shooter) -> Questions:
    if one.seeded:
        return {}
    setup, mesh = one.setup, one.mesh
    found: Questions = {
        "nil reading": lambda: calls.zero_attack_reading(setup(), mesh),
        **{f"tune: {aim}": partial(_tune, one, aim) for aim in calls.AIMS},
        "tune: the point's mass": lambda: calls.tune(setup(), mesh, "no pitch rate", path=POINT, others=False),
        "tune two: reading and crawl": lambda: calls.tune_two(setup(), mesh, (READING, "archer.crawl")),
        "tune two: reading and rest": lambda: calls.tune_two(setup(), mesh, (READING, "rest.stiffness")),
        "flights": lambda: calls.flights(setup(), mesh, None, "18 m"),
        "explain": lambda: calls.explain(setup(), mesh),
        "group": lambda: calls.group(setup(), mesh, 6, draw_length="4 mm", hand_torque="0.5 N m"),
        "compare data": lambda: calls.compare_data(setup(), mesh, OWN),
    }
    if one.name != "club-outdoor":
        return found
    return found | {
        "sensitivity": lambda: calls.sensitivity(setup(), mesh, INPUTS),
        "uncertainty": lambda: calls.uncertainty(setup(), mesh, INPUTS, 4, False),
        "uncertainty with indices": lambda: calls.uncertainty(setup(), "coarse", {READING: "0.5 mm"}, 2, True),
        "bare against fletched": lambda: calls.bare_against_fletched(setup(), mesh, INPUTS, 4),
        "group by reading": lambda: calls.group_by_reading(setup(), mesh, 4, ("-2 mm", "2 mm")),
        "compare locators": lambda: calls.compare_locators(setup(), mesh, 4),
        "diagnose": lambda: calls.diagnose(setup(), mesh, NOTES),
        "fit data": lambda: calls.fit_data(setup(), mesh, OWN, ("bow.draw_weight", "limbs.mass", "rest.stiffness")),
    }


def _tune(one: Shooter, aim: str) -> Any:
    return calls.tune(one.setup(), one.mesh, aim)


def _commands(one: Shooter) -> Questions:
    if one.seeded:
        return {}
    reading, several = f"{READING}=4 mm:12 mm:2 mm", "archer.draw_length=25 in, 26 in"
    lines: dict[str, tuple[str, ...]] = {
        "check": ("check", "--all"),
        "brace": ("brace", "--all", "--out", "OUT.toml"),
        "draw": ("draw", "--all", "--out", "OUT.csv"),
        "strain": ("strain", "--all", "--out", "OUT.csv"),
        "shoot": ("shoot", "--all", "--out", "OUT.csv"),
        "shoot with a change": ("shoot", "--all", "--set", f"{READING}=9 mm", "--mesh", "coarse"),
        "explain": ("explain", "--all"),
        "fly": ("fly", "--all", "--distance", "18 m", "--out", "OUT.csv"),
        "fly bare": ("fly", "--all", "--distance", "30 m", "--bare", "--untaped", "--out", "OUT.csv"),
        "tune": ("tune",),
        "tune by an aim": ("tune", "--aim", "no-angle-of-attack", "--within", "2 mm:14 mm", "--no-others"),
        "tune two": ("tune", "--path", READING, "--path", "archer.crawl", "--mesh", "coarse"),
        "read-group": ("read-group", str(NOTES.relative_to(calls.ROOT)), "--mesh", "coarse"),
        "sweep": ("sweep", "--over", reading, "--workers", "1", "--out", "OUT.csv"),
        "sweep of two, reading held": (
            "sweep", "--over", f"{BOLT}=-0.5, 0.5", "--over", several, "--hold", "reading", "--workers", "1",
            "--mesh", "coarse", "--out", "OUT.csv",
        ),
    }  # fmt: skip
    setup = str(one.path.relative_to(calls.ROOT))
    flat = ("--planes", str(calls.FLAT))
    found: Questions = {
        name: partial(calls.command, line[0], setup, *line[1:], *(() if line[0] in AT_REST else flat))
        for name, line in lines.items()
    }
    quick = ("--mesh", "coarse")
    asked = ("--all", "--gap", "8 cm left", "--points", "80, 100 gr", "--workers", "1")
    found["sideways"] = partial(calls.command, "sideways", setup, *asked, *quick)
    if one.name != "club-outdoor":
        return found
    return found | {
        "compare": partial(calls.command, "compare", setup, "examples/barebow.toml", "--all", *quick, *flat),
        "sheet": partial(calls.command, "sheet", setup, "--out", "OUT.md", "--workers", "1", *quick, *flat),
        "measures": partial(calls.command, "measures", setup, "--out", "OUT.md"),
        "new": partial(
            calls.command, "new", "OUT.toml", "--usual", "--kind", "barebow", "--units", "in", "--draw-weight", "36 lb",
            "--spine", "600",
        ),
    }  # fmt: skip


def _both_planes(one: Shooter) -> Questions:
    found: Questions = {
        "shot": lambda: calls.shot(one.launch(calls.BOTH)), "trace": lambda: calls.trace(one.launch(calls.BOTH)),
    }  # fmt: skip
    if one.seeded:
        return found
    setup = str(one.path.relative_to(calls.ROOT))
    return found | {
        "pictures": lambda: calls.pictures(one.launch(calls.BOTH)),
        "fletched, 18 m": lambda: calls.flight(one.launch(calls.BOTH), "18 m"),
        "bare, 18 m": lambda: calls.flight(one.launch(calls.BOTH), "18 m", fletched=False),
        "bare beside fletched, untaped, 30 m": lambda: calls.bare_beside_fletched(
            one.launch(calls.BOTH), "30 m", taped=False
        ),
        "reading": lambda: calls.sweep(one.setup(), one.mesh, None, calls.BOTH, over={READING: "3 mm:12 mm:1.5 mm"}),
        "shoot": partial(calls.command, "shoot", setup, "--all", "--out", "OUT.csv"),
    }
