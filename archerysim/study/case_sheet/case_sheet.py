"""All that one page in the bow case tells, computed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from archerysim.equipment import Setup
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.launch import Launch
from archerysim.study.journal.journal import Journal, read_journal
from archerysim.study.notes.notes_file import Notes
from archerysim.study.notes.read_group import Diagnosis, diagnose
from archerysim.study.tuning.honest_range import DRAWS
from archerysim.study.tuning.tune import tune
from archerysim.study.tuning.tuned import Tuned

if TYPE_CHECKING:
    import xarray


@result("setup.name", "speed", "angle_of_attack", "reading", "best", "low", "high", "distance")
@dataclass(frozen=True)
class CaseSheet:
    """A bow's page for the case.

    Attributes
    ----------
    setup : Setup
        As given.
    launch : Launch
        Of the bow as it is: as given, and with what the notes have and its file lacks, the reading of the last group
        too.
    tuned : Tuned
        Where the locators of this bow should sit, with its honest range, by the measures alone.
    journal : Journal or None
        The archer's notes: groups and changes, the latest last.
    groups : Diagnosis or None
        What the groups of the notes ask for; None without groups.
    assumed : tuple of str
        Paths of values that are only assumed.
    distance : float
        Of the target [m].
    speed : float
        Of the arrow at clear [m/s].
    angle_of_attack : float
        At clear, positive nose up [deg].
    reading : float
        Today, by the underside, as the next three [mm].
    best : float
        That brings bare and fletched together [mm].
    low, high : float
        5 % and 95 % points of its honest range [mm].
    distance_words : str
        As it was given.

    Examples
    --------
    >>> import archerysim
    >>> sheet = archerysim.case_sheet(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
    >>> round(sheet.speed), round(sheet.reading)  # [m/s], [mm]
    (56, 8)
    >>> sheet.journal is None  # without notes
    True
    """

    setup: Setup
    launch: Launch
    tuned: Tuned
    journal: Journal | None
    groups: Diagnosis | None
    assumed: tuple[str, ...]
    distance: Annotated[float, Reported("m", "distance of the target")]
    speed: Annotated[float, Reported("m/s", "speed of the arrow at clear")]
    angle_of_attack: Annotated[float, Reported("deg", "angle of attack at clear, nose up positive")]
    reading: Annotated[float, Reported("mm", "reading today, by the underside")]
    best: Annotated[float, Reported("mm", "reading that brings bare and fletched together, by the underside")]
    low: Annotated[float, Reported("mm", "5 % point of its honest range")]
    high: Annotated[float, Reported("mm", "95 % point of its honest range")]
    distance_words: str = ""

    def to_xarray(self) -> xarray.Dataset:
        """The predicted numbers with their units.

        Examples
        --------
        >>> import archerysim
        >>> sheet = archerysim.case_sheet(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
        >>> table = sheet.to_xarray()
        >>> round(float(table["speed"])), table["speed"].attrs["units"]
        (56, 'm s-1')
        """
        return dataset(variables_of(self), f"case sheet of {self.setup.name}")


def case_sheet(
    bow: Setup | FittedBow,
    notes: Notes | None = None,
    *,
    assumed: Collection[str] = (),
    distance: Any = "18 m",
    draws: int = DRAWS,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
) -> CaseSheet:
    """Shoot a bow, tune it, and gather what its page in the bow case tells.

    Parameters
    ----------
    bow : Setup or FittedBow
    notes : Notes, optional
        Groups and changes, the last of which stand on the page. The bow is shot as they leave it, and groups tell what
        to do now.
    assumed : collection of str
        Paths of values that are only assumed, such as those of a `FirstSetup`; they are marked.
    distance : str or another number with its unit
        Of the target at which bare and fletched shafts are to come together.
    draws, mesh, planes, workers
        As for `tune`.

    Returns
    -------
    CaseSheet

    Raises
    ------
    SetupError, ShotError
        Where the setup cannot be shot.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> sheet = archerysim.case_sheet(setup, archerysim.load_notes("examples/notes.toml"), draws=4, mesh="coarse")
    >>> round(sheet.reading), len(sheet.journal.entries)  # [mm]
    (8, 3)
    >>> sheet.low < sheet.best < sheet.high
    True
    """
    fitted = FittedBow.of(bow, mesh, planes=planes)
    journal = read_journal(fitted.given, notes) if notes else None
    groups = diagnose(fitted, notes, further=False, workers=workers) if notes and notes.group else None
    now = fitted if journal is None else fitted.with_changes(_since_the_file(fitted, journal))
    launch = now.launch()
    tuned = tune(now, distance=distance, others=False, sure=True, draws=draws, workers=workers)
    known = tuned.range
    nan = float("nan")
    return CaseSheet(
        setup=fitted.given, launch=launch, tuned=tuned, journal=journal, groups=groups, assumed=tuple(assumed),
        distance=check_distance(distance), speed=launch.clear.speed, angle_of_attack=launch.clear.angle_of_attack,
        reading=launch.reading, best=tuned.reading if tuned.met else nan,
        low=known.low if known else nan, high=known.high if known else nan,
        distance_words=distance if isinstance(distance, str) else "",
    )  # fmt: skip


def _since_the_file(bow: FittedBow, journal: Journal) -> dict[str, str]:
    """What the journal has and the file lacks, but for what was changed on this bow by hand."""
    own = {path for edit in bow.edits for path in edit.changes}
    return {path: value for path, value in journal.pending if path not in own}
