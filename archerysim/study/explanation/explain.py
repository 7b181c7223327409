"""Why the arrow left as it did: the shot told in time, and the launch angle shared out between the parts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError
from archerysim.errors import ShotError
from archerysim.fields.reported import column
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, words
from archerysim.fields.udunits import udunits
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.edit import Edit
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.moment import Moment
from archerysim.study.explanation.instants import Instant, story
from archerysim.study.explanation.neutral_bow import BowPart, as_read, parts_of

if TYPE_CHECKING:
    import xarray

QUANTITIES = (
    ("angle_of_attack", column(Moment, "angle_of_attack").unit, "angle of attack at clear"),
    ("pitch", column(Moment, "pitch").unit, "pitch at clear"),
    ("pitch_rate", column(Moment, "pitch_rate").unit, "pitch rate at clear"),
)


@dataclass(frozen=True)
class Contribution:
    """What one part does to the launch, against its neutral state.

    Attributes
    ----------
    part : BowPart
    on_neutral : (3,) array
        Angle of attack, pitch [deg] and pitch rate [rad/s] at clear with this part alone put on the neutral bow, less
        those of the neutral bow; nan where that cannot be shot. Positive nose up.
    on_actual : (3,) array
        Those of the bow as it is, less those with this part alone made neutral; nan where that cannot be shot.
    value : (3,) array
        Mean of both, or the one there is; nan where there is none.
    reason : str
        Why one way or both have no result; empty where both have.
    """

    part: BowPart
    on_neutral: np.ndarray
    on_actual: np.ndarray
    value: np.ndarray
    reason: str

    @property
    def known(self) -> bool:
        """Whether it has a value."""
        return bool(np.isfinite(self.value).all())


@result(
    "launch.setup.name", "launch.clear.angle_of_attack", "launch.clear.pitch",
    "launch.clear.pitch_rate", "instants", "contributions",
)  # fmt: skip
@dataclass(frozen=True)
class Explained:
    """A shot explained.

    The neutral bow's own values, the known contributions and the remainder add up to the actual values.

    Attributes
    ----------
    launch : Launch
        The shot, with its trace.
    instants : tuple of Instant
        What happened, in the order of time.
    neutral : Launch
        The shot of the neutral bow. A part that cannot be made neutral stays as it is.
    contributions : tuple of Contribution
    actual, base, remainder : (3,) arrays
        Angle of attack, pitch [deg], pitch rate [rad/s] at clear: of this bow, of the neutral bow, and what the parts
        do only together.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.explain(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
    >>> parts = sum(one.value for one in found.contributions if one.known)
    >>> bool(abs(found.base + parts + found.remainder - found.actual).max() < 1e-9)
    True
    """

    launch: Launch
    instants: tuple[Instant, ...]
    neutral: Launch
    contributions: tuple[Contribution, ...]
    actual: np.ndarray
    base: np.ndarray
    remainder: np.ndarray

    @property
    def edits(self) -> tuple[Edit, ...]:
        """What was changed on the bow that is explained; the shot's last edit puts its locators by the same reading."""
        return self.launch.edits[:-1]

    def of(self, name: str) -> Contribution:
        """The contribution of a part.

        Raises
        ------
        SetupError

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.explain(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
        >>> found.of("reading").known
        True
        """
        for contribution in self.contributions:
            if contribution.part.name == name:
                return contribution
        names = ", ".join(repr(contribution.part.name) for contribution in self.contributions)
        raise SetupError("part", f"{name!r} is not one of the parts", f"Use one of {names}")

    def to_xarray(self) -> xarray.Dataset:
        """What each part does, as a table with units along "part".

        Of each quantity X (angle_of_attack, pitch, pitch_rate): ``X`` of each part, its ``X_on_neutral`` and
        ``X_on_actual``, and of the whole bow ``X_actual``, ``X_base`` and ``X_remainder``, as the attributes of this
        class and of ``Contribution``.

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.explain(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
        >>> table = found.to_xarray()
        >>> table.sizes["part"] == len(found.contributions), table["pitch_rate"].attrs["units"]
        (True, 'rad s-1')
        """
        parts = self.contributions
        variables: Variables = {"part": words([one.part.name for one in parts], "part", "part of the bow")}
        for k, (name, unit, text) in enumerate(QUANTITIES):
            for ending, axes, values, what in (
                ("", ("part",), [one.value[k] for one in parts], "what the part does"),
                ("_on_neutral", ("part",), [one.on_neutral[k] for one in parts], "the part put on the neutral bow"),
                ("_on_actual", ("part",), [one.on_actual[k] for one in parts], "the part made neutral on this bow"),
                ("_actual", (), self.actual[k], "of this bow"),
                ("_base", (), self.base[k], "of the neutral bow"),
                ("_remainder", (), self.remainder[k], "what the parts do only together"),
            ):
                about = {"units": udunits(unit), "long_name": f"{text}: {what}"}
                variables[name + ending] = (axes, np.asarray(values), about)
        return dataset(variables, "why the arrow left as it did")


def explain(
    of: Setup | FittedBow | Launch, *, mesh: str | Mesh = "default", planes: int | None = None,
    changes: Changes = NO_CHANGES, hold: Hold = None,
) -> Explained:  # fmt: skip
    """Explain a shot.

    Parameters
    ----------
    of : Setup, FittedBow or Launch
        A setup, measured or built, is fitted once; of a launch its setup, shot again on ``mesh``.
    mesh : str or Mesh
    planes : int, optional
        As for `archerysim.shoot`; of a launch those it was shot in.
    changes, hold
        As for `archerysim.shoot`.

    Returns
    -------
    Explained

    Raises
    ------
    SetupError, ShotError
        Where the shot itself fails. A part that cannot be made neutral is reported as such.

    Notes
    -----
    With f(S) the launch with the parts S as they are and the others neutral, and A all parts, a part p has
    ((f({p}) - f({})) + (f(A) - f(A without p))) / 2: exact where the parts do not act on one another. The remainder is
    f(A) - f({}) less all of these.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.explain(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
    >>> [one.part.name for one in found.contributions]
    ['reading', 'tiller', 'fingers', 'hand', 'rest', 'slope', 'stabilisers']
    """
    if isinstance(of, Launch) and planes is None:
        planes = of.planes
    bow = FittedBow.of(of.setup if isinstance(of, Launch) else of, mesh, changes, hold, planes)
    shots = _Shots(bow, parts_of(bow))
    names = [part.name for part in shots.parts]
    launch = bow.launch(as_read(bow), trace=True)
    neutral: set[str] = set()
    reasons = {part.name: part.reason for part in shots.parts if part.reason}
    for name in names:  # one after the other, so that a part that cannot be made neutral is found and left as it is
        if name not in reasons:
            reason = shots.reason(neutral | {name})
            if reason:
                reasons[name] = reason
            else:
                neutral |= {name}
    actual, bottom = numbers(launch), shots.numbers(neutral)
    found = []
    for part in shots.parts:
        name = part.name
        there = name in neutral
        none = np.full(3, np.nan)
        ways = [
            shots.numbers(neutral - {name}) - bottom if there else none,
            actual - shots.numbers({name}) if not part.reason else none,
        ]
        known = [way for way in ways if np.isfinite(way).all()]
        value = np.mean(known, axis=0) if there and known else np.full(3, np.nan)
        why = reasons.get(name) or shots.reason(neutral - {name}) or shots.reason({name})
        found.append(Contribution(part, ways[0], ways[1], value, why))
    parted = sum((one.value for one in found if one.known), np.zeros(3))
    return Explained(
        launch, story(launch), shots.launch(neutral), tuple(found), actual, bottom, actual - bottom - parted
    )


def numbers(launch: Launch) -> np.ndarray:
    """Angle of attack, pitch [deg] and pitch rate [rad/s] at clear (3,)."""
    return np.array([getattr(launch.clear, name) for name, _, _ in QUANTITIES])


class _Shots:
    """Shots with some parts made neutral: a yardstick, of which nothing is said as of a change."""

    def __init__(self, bow: FittedBow, parts: tuple[BowPart, ...]) -> None:
        self.bow, self.parts = replace(bow, before=None), parts

    def launch(self, neutral: set[str]) -> Launch:
        """The shot.

        Raises
        ------
        SetupError, ShotError
        """
        changes = as_read(self.bow)
        for part in self.parts:
            if part.name in neutral:
                changes = changes | part.changes
        return self.bow.launch(changes)

    def reason(self, neutral: set[str]) -> str:
        """Why there is no such shot; empty where there is one."""
        try:
            self.launch(neutral)
        except (SetupError, ShotError) as error:
            return str(error)
        return ""

    def numbers(self, neutral: set[str]) -> np.ndarray:
        """Its numbers; nan where there is none."""
        try:
            return numbers(self.launch(neutral))
        except (SetupError, ShotError):
            return np.full(3, np.nan)
