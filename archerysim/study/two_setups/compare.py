"""Two setups compared: what each difference does to brace, draw, launch and gap, and by which order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import Setup, SetupError
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, variables_of, words
from archerysim.fields.udunits import udunits
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.launch import Launch
from archerysim.study.tuning.together import together_reading
from archerysim.study.two_setups.differences import Difference, differences, with_differences

if TYPE_CHECKING:
    import xarray

# name, unit, meaning; the places in the arrays below
ANSWERS: tuple[tuple[str, str, str], ...] = (
    ("brace_height", "mm", "brace height"),
    ("tiller_split", "mm", "upper tiller less lower tiller"),
    ("reading", "mm", "reading by the underside"),
    ("draw_force", "N", "force on the fingers at the archer's draw"),
    ("stored_energy", "J", "stored energy"),
    ("speed", "m/s", "speed at clear"),
    ("pitch", "deg", "pitch at clear, nose up positive"),
    ("pitch_rate", "rad/s", "pitch rate at clear"),
    ("angle_of_attack", "deg", "angle of attack at clear"),
    ("bare_above", "mm", "bare shaft above the fletched one on the target"),
    ("bare_beside", "mm", "bare shaft beside the fletched one, positive away from the window; believe changes only"),
    ("together_reading", "mm", "reading by the underside that brings bare and fletched together"),
)
NAMES = tuple(name for name, _, _ in ANSWERS)


@result("before.name", "after.name", "changes", "distance")
@dataclass(frozen=True)
class TwoSetups:
    """What lies between two setups.

    Attributes
    ----------
    before, after : Setup
    differences : tuple of Difference
        The changes, in the order of a setup file.
    distance : float
        Of the target [m].
    at : (n + 1, a) array
        The answers (``answer`` says where each stands): of the first setup, then with one change after another; the
        last row is the second setup. nan where there is none.
    first, last : (n, a) arrays
        What each change does to them when it is made before all others, and after all others.
    reasons : dict of str to str
        Why some answers are missing, by the setup or the change after which they are.
    launches : tuple of Launch or None
        Of both setups.

    Examples
    --------
    >>> import archerysim
    >>> before = archerysim.load("examples/club-outdoor.toml")
    >>> after = before.replace({"arrow.point_mass": "110 gr", "bow.brace_height": "225 mm"})
    >>> found = archerysim.compare(before, after, mesh="coarse")
    >>> found.changes
    ('bow.brace_height', 'arrow.point_mass')
    >>> speed = found.answer("speed")
    >>> bool(found.at[-1, speed] < found.at[0, speed])  # slower
    True
    """

    before: Setup
    after: Setup
    differences: tuple[Difference, ...]
    distance: Annotated[float, Reported("m", "distance of the target")]
    at: np.ndarray
    first: np.ndarray
    last: np.ndarray
    reasons: dict[str, str]
    launches: tuple[Launch, Launch]

    @property
    def changes(self) -> tuple[str, ...]:
        """Names of the changes."""
        return tuple(one.name for one in self.differences)

    @property
    def steps(self) -> np.ndarray:
        """What each change does when they are made one after another (n, a); their sum is the whole difference.

        Examples
        --------
        >>> import archerysim
        >>> before = archerysim.load("examples/club-outdoor.toml")
        >>> after = before.replace({"arrow.point_mass": "110 gr", "bow.brace_height": "225 mm"})
        >>> found = archerysim.compare(before, after, mesh="coarse")
        >>> speed = found.answer("speed")
        >>> together = found.steps[:, speed].sum()
        >>> bool(abs(together - (found.at[-1, speed] - found.at[0, speed])) < 1e-9)
        True
        """
        return np.diff(self.at, axis=0)

    def answer(self, name: str) -> int:
        """Index of an answer in the arrays.

        Examples
        --------
        >>> import archerysim
        >>> outdoor = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.compare(outdoor, outdoor.replace({"arrow.point_mass": "110 gr"}), mesh="coarse")
        >>> bool(found.first[0, found.answer("speed")] < 0.0)  # [m/s], a heavier point
        True
        """
        return NAMES.index(name)

    def to_xarray(self) -> xarray.Dataset:
        """Every answer along "after" (the setup itself, then each change), and its changes along "change".

        Examples
        --------
        >>> import archerysim
        >>> outdoor = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.compare(outdoor, outdoor.replace({"arrow.point_mass": "110 gr"}), mesh="coarse")
        >>> dict(found.to_xarray().sizes)
        {'after': 2, 'change': 1}
        """
        table: Variables = {
            "after": words(["", *self.changes], "after", "the change after which the answers are given"),
            "change": words(list(self.changes), "change", "what is changed"),
        }
        for k, (name, unit, text) in enumerate(ANSWERS):
            about = {"units": udunits(unit), "long_name": text}
            table[name] = (("after",), self.at[:, k], about)
            for kind, values in (("first", self.first), ("last", self.last)):
                more = {"units": udunits(unit), "long_name": f"{text}: what the change does when made {kind}"}
                table[f"{name}_{kind}"] = (("change",), values[:, k], more)
        return dataset({**table, **variables_of(self)}, f"{self.before.name} and {self.after.name} compared")


def compare(
    before: Setup, after: Setup, *, distance: Any = "18 m", mesh: str | Mesh = "default", planes: int | None = None
) -> TwoSetups:
    """Compare two setups: what differs, and what each difference does.

    Every setup between the two is as its file would have it: fitted anew where something measured differs, its locators
    at its own reading. What a change does on the bow as built, nothing else touched, is another question: ``changes=``
    of `archerysim.shoot`.

    Parameters
    ----------
    before, after : Setup
        Both as measured, or both as built.
    distance : str or another number with its unit
        Of the target.
    mesh, planes
        As for `archerysim.shoot`.

    Returns
    -------
    TwoSetups

    Raises
    ------
    SetupError, ShotError
        Where one of the two cannot be shot. A setup between them that cannot is left out, with the reason.

    Examples
    --------
    >>> import archerysim
    >>> outdoor = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.compare(outdoor, outdoor.replace({"arrow.point_mass": "110 gr"}), mesh="coarse")
    >>> found.changes
    ('arrow.point_mass',)
    """
    far, found = check_distance(distance), differences(before, after)
    every = frozenset(range(len(found)))
    known: dict[frozenset[int], np.ndarray] = {}
    reasons: dict[str, str] = {}

    def answers(chosen: Iterable[int], name: str) -> np.ndarray:
        key = frozenset(chosen)
        if key not in known:
            try:
                setup = with_differences(before, (found[k] for k in sorted(key)))
                known[key], why = _answers(_shot(setup, mesh, planes), far)
            except (SetupError, ShotError) as error:
                known[key], why = np.full(len(ANSWERS), np.nan), str(error)
            if why:
                reasons.setdefault(name, why)
        return known[key]

    launches = _shot(before, mesh, planes).launch(), _shot(after, mesh, planes).launch()
    at = [answers(range(k), found[k - 1].name if k else before.name) for k in range(len(found) + 1)]
    first = [answers({k}, one.name) - at[0] for k, one in enumerate(found)]
    last = [at[-1] - answers(every - {k}, one.name) for k, one in enumerate(found)]
    empty = np.empty((0, len(ANSWERS)))
    return TwoSetups(
        before, after, found, far, np.array(at), np.array(first) if found else empty,
        np.array(last) if found else empty, reasons, launches,
    )  # fmt: skip


def _shot(setup: Setup, mesh: str | Mesh, planes: int | None) -> FittedBow:
    return FittedBow.of(setup, mesh, planes=planes)


def _answers(bow: FittedBow, distance: float) -> tuple[np.ndarray, str]:
    """The answers of one bow, and why there is no reading that brings bare and fletched together; "" where there is."""
    launch = bow.launch()
    braced, clear = launch.braced, launch.clear
    apart = bare_difference(launch, (distance, "m"))
    best, why = float("nan"), ""
    try:
        best = together_reading(bow, distance=(distance, "m")).reading
    except (SetupError, ShotError) as error:
        why = str(error)
    values = (
        1e3 * braced.brace_height, 1e3 * (braced.upper_tiller - braced.lower_tiller), launch.reading, launch.draw_force,
        launch.stored_energy, clear.speed, clear.pitch, clear.pitch_rate, clear.angle_of_attack, 1e3 * apart.height,
        1e3 * apart.side, best,
    )  # fmt: skip
    return np.array(values), why
