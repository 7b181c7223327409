"""The same hands again: at other readings, and with other locators."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, filled
from archerysim.equipment.filled_records import TiedLocators
from archerysim.equipment.readings import BY_UNDERSIDE, ReadBy, by_underside, read_by
from archerysim.errors import ShotError
from archerysim.fields.given import several
from archerysim.fields.paths import read
from archerysim.fields.quantity import in_si
from archerysim.fields.reported import Reported, column
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, attributes_of, dataset, stacked, variables_of, words
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.study.groups.group import Group, Hands, shoot_group
from archerysim.study.groups.scatter import Scatter
from archerysim.study.groups.spread import Ratio, ratio_of
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.tuning.zero_attack import zero_attack_reading

if TYPE_CHECKING:
    import xarray


OFFSETS = ("-4 mm", "-2 mm", "0 mm", "2 mm", "4 mm")
GAP = 0.5e-3  # [m] of two locators tied apart [judgement]


@result("best", "how", "offsets", "today", "groups")
@dataclass(frozen=True)
class ReadingGroups:
    """Groups at several readings, shot with the same hands; the sight is set anew at each reading.

    Attributes
    ----------
    best : float
        Reading from which the offsets count, by the underside [mm].
    how : str
        What makes it the best.
    offsets : tuple of float
        Reading less the best [mm].
    groups : tuple of Group or None
        None where the shot without scatter fails.
    reasons : tuple of str
        Why there is no group; empty where there is one.
    today : float
        Reading of the bow as it was given, by the underside [mm].
    by : ReadBy
        How the setup gives its readings; tables and pictures do the same.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.group_by_reading(setup, 6, ("0 mm", "3 mm"), mesh="coarse")
    >>> round(found.best), round(found.today)  # [mm]
    (6, 8)
    >>> [group.spread("bare").count for group in found.groups]
    [6, 6]
    """

    best: Annotated[float, Reported("mm", "reading from which the offsets count, by the underside")]
    how: str
    offsets: Annotated[tuple[float, ...], Reported("mm", "reading less the best", ("reading",))]
    groups: tuple[Group | None, ...]
    reasons: tuple[str, ...]
    today: Annotated[float, Reported("mm", "reading of the bow as it was given, by the underside")] = math.nan
    by: ReadBy = BY_UNDERSIDE

    def to_xarray(self) -> xarray.Dataset:
        """The groups side by side as a table with units, along "reading" and "shot"; nan where there is none.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.group_by_reading(setup, 6, ("0 mm", "3 mm"), mesh="coarse")
        >>> dict(found.to_xarray().sizes)
        {'reading': 2, 'shot': 6}
        """
        readings = self.best + np.asarray(self.offsets)
        variables: Variables = {
            "reading": (("reading",), readings, attributes_of(column(Launch, "reading"))),
            "reason": words(self.reasons, "reading", "why there is no group"),
        }
        of_each = stacked(self.groups, "reading")
        return dataset({**variables, **variables_of(self), **of_each}, "groups at several readings")


def group_by_reading(
    bow: Setup | FittedBow,
    n: int = 30,
    offsets: Any = OFFSETS,
    *,
    best: Any = None,
    scatter: Scatter | None = None,
    distance: Any = "18 m",
    seed: int = 0,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> ReadingGroups:
    """Shoot groups at readings off the best one.

    Parameters
    ----------
    offsets : sequence
        From the best reading, positive = higher, with units: ("0 mm", "2 mm"), ``([0, 2], "mm")``.
    best : str or another number with its unit, optional
        Reading by the setup's convention; by default that which leaves no angle of attack
        at clear (`zero_attack_reading`).
    n, scatter, distance, seed, workers, executor, store, mesh, planes, progress, changes, hold
        As for `archerysim.group`.

    Returns
    -------
    ReadingGroups

    Raises
    ------
    SetupError, ShotError

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.group_by_reading(setup, 6, ("0 mm", "3 mm"), mesh="coarse")
    >>> [round(offset, 6) for offset in found.offsets], len(found.groups)  # [mm]
    ([0.0, 3.0], 2)
    """
    hands, how = Hands.of(n, scatter, distance, seed), HowToRun(workers, executor, store, progress)
    away = [in_si("offsets", offset, "mm") for offset in several("offsets", offsets, "mm")]
    if not away:
        raise SetupError("offsets", "holds no reading", "Give at least one, as 0 mm")
    bow = FittedBow.of(bow, mesh, changes, hold, planes)
    why, by = "as given", read_by(bow.setup)
    if best is None:
        middle, why = 1e-3 * zero_attack_reading(bow).reading, "no angle of attack at clear"
    else:
        middle = by.underside(in_si("best", best, "mm"))
    tried = [_tried(bow, by_underside(bow.setup, middle + offset), hands, how) for offset in away]
    return ReadingGroups(
        1e3 * middle, why, tuple(1e3 * a for a in away), tuple(one for one, _ in tried),
        tuple(reason for _, reason in tried), 1e3 * bow.reading, by,
    )  # fmt: skip


@result("names", "today", "groups")
@dataclass(frozen=True)
class LocatorGroups:
    """Groups of one bow with several fits of its locators, shot with the same hands.

    Attributes
    ----------
    names : tuple of str
    changes : tuple of dict
        What was changed on the bow as built, path to value in SI.
    groups : tuple of Group or None
    reasons : tuple of str
    today : str
        The name of the fit that the bow had when it was given; empty where it is none of them.

    Examples
    --------
    >>> import archerysim
    >>> fits = {"tight": {"nock.locators.gap": "0 mm"}, "loose": {"nock.locators.gap": "1 mm"}}
    >>> found = archerysim.compare_locators(archerysim.load("examples/club-outdoor.toml"), 6, fits, mesh="coarse")
    >>> found.names, [group.count for group in found.groups]
    (('tight', 'loose'), [6, 6])
    """

    names: tuple[str, ...]
    changes: tuple[dict[str, Any], ...]
    groups: tuple[Group | None, ...]
    reasons: tuple[str, ...]
    today: str = ""

    def to_xarray(self) -> xarray.Dataset:
        """The groups side by side as a table with units, along "fit" and "shot"; nan where there is none.

        Examples
        --------
        >>> import archerysim
        >>> fits = {"tight": {"nock.locators.gap": "0 mm"}, "loose": {"nock.locators.gap": "1 mm"}}
        >>> found = archerysim.compare_locators(archerysim.load("examples/club-outdoor.toml"), 6, fits, mesh="coarse")
        >>> dict(found.to_xarray().sizes)
        {'fit': 2, 'shot': 6}
        """
        variables = {
            "fit": words(self.names, "fit", "fit of the locators"),
            "reason": words(self.reasons, "fit", "why there is no group"),
        }
        return dataset({**variables, **stacked(self.groups, "fit")}, "groups with several fits of the locators")

    def ratio(self, name: str, quantity: str = "fletched") -> Ratio:
        """Standard deviation of a quantity with one fit over that with the first, from the same hands.

        Raises
        ------
        SetupError
            Where there is no fit of that name, or no group.

        Examples
        --------
        >>> import archerysim
        >>> fits = {"tight": {"nock.locators.gap": "0 mm"}, "loose": {"nock.locators.gap": "1 mm"}}
        >>> found = archerysim.compare_locators(archerysim.load("examples/club-outdoor.toml"), 6, fits, mesh="coarse")
        >>> found.ratio("tight").value
        1.0
        """
        if name not in self.names:
            raise SetupError("name", f"{name!r} was not compared", f"Use one of {', '.join(map(repr, self.names))}")
        one, first = self.groups[self.names.index(name)], self.groups[0]
        if one is None or first is None:
            missing = self.reasons[self.names.index(name)] or self.reasons[0]
            raise SetupError("name", f"{name!r} has no ratio: {missing}", "Look at the reasons")
        return ratio_of(getattr(one, quantity), getattr(first, quantity))


def locator_fits(built: Setup, gap: float = GAP) -> dict[str, InSi]:
    """Two locators touching the nock, two with a gap, the lower alone, the upper alone.

    The lower locator's upper face stays where it is (where there is the upper alone, its lower face). A gap is made by
    moving the upper locator away, so the middle between them rises by half of it.

    Parameters
    ----------
    built : Setup
        Locators tied at a place.
    gap : float
        [m]
    """
    head = "nock.locators."
    now = filled(built).nock.locators
    assert isinstance(now, TiedLocators)
    floor = now.place - 0.5 * now.gap  # where the throat's middle is with the nock down on the lower locator

    def fit(place: float, free: float, upper: bool, lower: bool) -> InSi:
        names = ("place", "gap", "upper_present", "lower_present")
        return InSi({head + name: value for name, value in zip(names, (place, free, upper, lower), strict=True)})

    return {
        "two, touching": fit(floor, 0.0, True, True),
        f"two, {1e3 * gap:g} mm gap": fit(floor + 0.5 * gap, gap, True, True),
        "lower alone": fit(floor, 0.0, False, True),
        "upper alone": fit(floor, 0.0, True, False),
    }


def compare_locators(
    bow: Setup | FittedBow,
    n: int = 30,
    fits: Mapping[str, Mapping[str, Any]] | None = None,
    *,
    gap: Any = (GAP, "m"),
    scatter: Scatter | None = None,
    distance: Any = "18 m",
    seed: int = 0,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> LocatorGroups:
    """Shoot groups with one locator and with two, touching and gapped; the sight is set anew for each.

    Parameters
    ----------
    fits : mapping of name to changes, optional
        What is compared instead: changes of the bow as built, as `Setup.replace` takes them. The others are compared
        with the first.
    gap : str or another number with its unit
        Of the gapped pair, in all.
    n, scatter, distance, seed, workers, executor, store, mesh, planes, progress, changes, hold
        As for `archerysim.group`.

    Returns
    -------
    LocatorGroups

    Raises
    ------
    SetupError, ShotError

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.compare_locators(setup, 6, gap="0.5 mm", mesh="coarse")
    >>> len(found.names), found.names[0] == found.today
    (4, True)
    """
    hands, how = Hands.of(n, scatter, distance, seed), HowToRun(workers, executor, store, progress)
    bow = FittedBow.of(bow, mesh, changes, hold, planes)
    if fits is None:
        fits = locator_fits(bow.setup, in_si("gap", gap, "mm"))
    remedy = 'Give names with changes, as {"tight": {"nock.locators.gap": "0 mm"}}'
    if not isinstance(fits, Mapping):
        raise SetupError("fits", f"{fits!r} holds no names", remedy)
    for name, change in fits.items():
        if not isinstance(change, Mapping):
            raise SetupError(f"fits.{name}", f"{change!r} is not a set of changes", remedy)
    if not fits:
        raise SetupError("fits", "holds nothing to compare", "Give at least one name with its changes")
    fits = {name: read(Setup, change) for name, change in fits.items()}
    tried = [_tried(bow, change, hands, how) for change in fits.values()]
    return LocatorGroups(
        tuple(fits), tuple(dict(c) for c in fits.values()), tuple(one for one, _ in tried),
        tuple(reason for _, reason in tried),
        next((name for (name, change), (one, _) in zip(fits.items(), tried, strict=True)
              if one is not None and _as_it_is(bow.setup, change)), ""),
    )  # fmt: skip


def _as_it_is(built: Setup, changes: Mapping[str, Any]) -> bool:
    """Whether the changes leave the bow as it is."""
    now, then = filled(built), filled(built.replace(changes))
    return all(
        math.isclose(now.get(path), then.get(path), abs_tol=1e-9)
        if isinstance(then.get(path), float)
        else now.get(path) == then.get(path)
        for path in changes
    )


def _tried(
    bow: FittedBow, changes: Mapping[str, Any], hands: Hands, how: HowToRun
) -> tuple[Group | None, str]:  # fmt: skip
    try:
        return shoot_group(bow.with_changes(changes), hands, how), ""
    except ShotError as error:
        return None, str(error)
    except SetupError as error:
        if error.path in ("distance", "scatter", "workers"):
            raise
        return None, str(error)
