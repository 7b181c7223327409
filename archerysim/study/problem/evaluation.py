"""What a problem asks of each bow, and its outputs at many vectors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, words
from archerysim.fields.udunits import udunits
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.study.problem.measured_values import Measured
from archerysim.study.problem.observables import Observable, Sight, told
from archerysim.study.problem.unknowns import Place, changes_at
from archerysim.study.run.row import Change, Row

if TYPE_CHECKING:
    import xarray


@dataclass(frozen=True)
class Evaluation:
    """Asks for the outputs and residuals of a bow with its inputs at some values; see `study.run.row.Question`."""

    places: tuple[Place, ...]
    wanted: tuple[Observable, ...]
    measured: Measured
    sight: Sight | None
    hold: tuple[str, ...]

    @property
    def shots(self) -> int:
        return 1 + self.measured.shots

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        x = change["x"]
        changes = changes_at(bow, self.places, x)
        launch = bow.launch(changes, self.hold)
        compared = tuple(one for one, _, _ in self.measured.values)
        found = told(launch, self.wanted + compared, self.sight)
        count = len(self.wanted)
        film = {
            one.path.partition(".")[2]: one.si(value)
            for one, value in zip(self.places, x, strict=True)
            if one.of_the_film
        }
        there = bow if self.measured.data is None else bow.with_changes(changes, self.hold)
        off = self.measured.residuals(found[count:], there, film)
        return {"values": found[:count], "residuals": off, "contacts": contacts_of(launch)}


def contacts_of(launch: Launch) -> list[str]:
    """What touched what in a shot, as far as it makes another course of it."""
    passage = launch.passage
    met = [f"strikes of the arm: {passage.arm_strikes:g}"] if passage.arm_strikes > 0.0 else []
    if passage.side_touches > 0.0:  # how many lighter ones follow is no other course of the shot
        met.append("the side support touched again")
    if np.isfinite(launch.second_strike_at):
        met.append("a second strike of the rest")
    return [*launch.events, *met]


@result("names", "units", "failed")
@dataclass(frozen=True)
class Evaluated:
    """Outputs at many vectors.

    Attributes
    ----------
    inputs, names : tuple of str
        Paths of the inputs; names of the outputs.
    input_units, units : tuple of str
    x : (n, k) array
    values : (n, m) array
        nan where a bow gave no shot.
    residuals : (n, r) array
        Computed less measured over the error; nan where a bow gave no shot.
    status : (n,) array of int
        0 where the shot was computed.
    reasons : tuple of str
        Why not, in words; "" where it was.
    contacts : tuple of tuple of str
        What touched what in each shot.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, ("pitch", "speed"))
    >>> found = asked.evaluate([[6.0], [8.0]])
    >>> found.values.shape, found.failed
    ((2, 2), 0)
    """

    inputs: tuple[str, ...]
    names: tuple[str, ...]
    input_units: tuple[str, ...]
    units: tuple[str, ...]
    x: np.ndarray
    values: np.ndarray
    residuals: np.ndarray
    status: np.ndarray
    reasons: tuple[str, ...]
    contacts: tuple[tuple[str, ...], ...]

    @property
    def failed(self) -> int:
        """How many gave no shot."""
        return int((self.status != 0).sum())

    def to_xarray(self) -> xarray.Dataset:
        """Inputs and outputs as a table with units, along "point".

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> asked = archerysim.problem(setup, {"nock.locators.reading": "4 mm to 12 mm"}, ("pitch", "speed"))
        >>> table = asked.evaluate([[6.0], [8.0]]).to_xarray()
        >>> table["speed"].attrs["units"], dict(table.sizes)
        ('m s-1', {'point': 2})
        """
        variables: Variables = {}
        for k, (path, unit) in enumerate(zip(self.inputs, self.input_units, strict=True)):
            variables[path.replace(".", "_")] = (("point",), self.x[:, k], {"units": udunits(unit), "long_name": path})
        for k, (name, unit) in enumerate(zip(self.names, self.units, strict=True)):
            about = {"units": udunits(unit), "long_name": name.replace("_", " ")}
            variables[name.replace(".", "_")] = (("point",), self.values[:, k], about)
        about = {"units": "1", "long_name": "0 where the shot was computed"}
        variables["status"] = (("point",), self.status, about)
        variables["reason"] = words(self.reasons, "point", "why there is no shot")
        return dataset(variables, "outputs of a problem")
