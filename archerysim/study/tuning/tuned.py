"""A tuned setting: what a tune found."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import Setup
from archerysim.equipment.readings import BY_UNDERSIDE, ReadBy
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variable, dataset, variables_of
from archerysim.fields.udunits import udunits
from archerysim.shot.launch import Launch
from archerysim.study.tuning.aims import AIMS
from archerysim.study.tuning.at_the_butt import AtTheButt
from archerysim.study.tuning.first_move import FirstMove
from archerysim.study.tuning.honest_range import HonestRange
from archerysim.study.tuning.search import Jump

if TYPE_CHECKING:
    import xarray


@result("setup.name", "path", "aim", "unit", "value", "window", "met", "reading", "shots")
@dataclass(frozen=True)
class Tuned:
    """A tuned setting, or the nearest to it in the range that was searched.

    Where ``path`` is the reading, ``value``, ``window``, ``slope``, ``looked``, ``searched``, ``others``, ``also``,
    ``jumps`` and ``failed`` follow the setup's convention, ``by``.

    Attributes
    ----------
    path, unit : str
        What was tuned, and the unit of the numbers below.
    value : float
        The best value; where no value in range meets the aim, the one whose measure is nearest to it.
    aim : str
    slope : float
        Change of the aim's measure per unit, at that value.
    window : (float, float)
        Values between which the measure stays within ``size``; nan where it does not leave it in range. Both nan where
        the aim is not met.
    size : float
        The measure's tolerance, in its own unit.
    measure_unit : str
    reading, reading_top, axis_above_square : float
        Locator height there [mm], by the underside and by the top.
    others : dict of str to float
        What the other aims would have given; nan where they have no answer in range.
    touches_rest : bool
        Whether the shaft meets rest or riser on its way out there by more than a graze; in one plane, whether it comes
        down on the rest again, or would have, had the support not ended.
    distance : float
        Of the target [m].
    launch : Launch
        With that value.
    setup : Setup
        As built and tuned.
    shots : int
    looked : (k, 2) array
        Values tried and the aim's measure at each, values rising; nan where there was no shot.
    met : bool
        Whether the aim is met: its measure zero, or least, at ``value``.
    way : {"", "higher", "lower"}
        Where it is not met: on which side of the range the answer lies, by the measure's slope at the ends; empty where
        neither end leads there.
    measure : float
        The aim's measure at ``value``, in ``measure_unit``.
    searched : (float, float)
        The range.
    asked : bool
        Whether that range was given by the user.
    also : tuple of float
        Other values in range that meet the aim.
    jumps : tuple of Jump
        Values, in the setting's unit, at which the measure only jumps over zero, and the measure on either side of
        each: none of them meets the aim.
    others_way : dict of str to {"", "higher", "lower"}
        For the other aims that have no answer in range: on which side theirs lies.
    failed : tuple of (float, str)
        Values that gave no shot, and why: left out of the search.
    unusual : tuple of str
        What is then outside the usual range of the setup's category, in words.
    by : ReadBy
        How readings are given.
    range : HonestRange or None
        Where the best reading lies with 90 % probability, everything uncertain taken together; only where it was asked
        for.
    no_range : str
        Why there is none though it was asked for.
    move : FirstMove or None
        What to do with the locators now, by that range.
    butt : AtTheButt or None
        What a move of the locators does at that distance; for heights on the target, with the range.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.tune(setup, "no angle of attack", others=False, mesh="coarse")
    >>> found.path, found.unit, found.aim
    ('nock.locators.reading', 'mm', 'no angle of attack')
    >>> round(found.value), round(found.launch.clear.angle_of_attack, 1)
    (6, 0.0)
    """

    path: str
    unit: str
    value: float
    aim: str
    slope: float
    window: tuple[float, float]
    size: float
    measure_unit: str
    reading: Annotated[float, Reported("mm")]
    reading_top: Annotated[float, Reported("mm")]
    axis_above_square: Annotated[float, Reported("mm")]
    others: dict[str, float]
    touches_rest: bool
    distance: Annotated[float, Reported("m")]
    launch: Launch
    setup: Setup
    shots: int
    looked: np.ndarray
    met: bool = True
    way: str = ""
    measure: float = 0.0
    searched: tuple[float, float] = (float("nan"), float("nan"))
    asked: bool = False
    also: tuple[float, ...] = ()
    jumps: tuple[Jump, ...] = ()
    others_way: dict[str, str] = field(default_factory=dict)
    failed: tuple[tuple[float, str], ...] = ()
    unusual: tuple[str, ...] = ()
    by: ReadBy = BY_UNDERSIDE
    range: HonestRange | None = None
    no_range: str = ""
    move: FirstMove | None = None
    butt: AtTheButt | None = None

    @property
    def good_enough(self) -> bool:
        """Whether the aim is met, or its measure within ``size`` of zero.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.tune(setup, "no angle of attack", within=("7 mm", "9 mm"), others=False, mesh="coarse")
        >>> found.met, found.good_enough, found.way  # the answer lies below that range
        (False, False, 'lower')
        """
        return self.met or (not AIMS[self.aim].least and abs(self.measure) <= self.size)

    def to_xarray(self) -> xarray.Dataset:
        """What was tried, along "tried", and what was found, with units.

        ``tried`` and ``measure_tried`` are the two columns of ``looked``; the others as the attributes of this class,
        ``window`` along "end". If an honest range was asked for: ``range_low``, ``range_high``, ``range_sample`` along
        "range_draw", and what decides along "kind".

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.tune(archerysim.load("examples/club-outdoor.toml"), others=False, mesh="coarse")
        >>> table = found.to_xarray()
        >>> round(float(table["value"])), table["value"].attrs["units"]
        (4, 'mm')
        """

        def told(values: Any, text: str, unit: str, *axes: str) -> Variable:
            return axes, np.asarray(values), {"units": udunits(unit), "long_name": text}

        return dataset(
            {
                "tried": told(self.looked[:, 0], f"{self.path}: values tried", self.unit, "tried"),
                "measure_tried": told(self.looked[:, 1], f"{self.aim}: measure", self.measure_unit, "tried"),
                "value": told(self.value, f"{self.path}: value found", self.unit),
                "measure": told(self.measure, f"{self.aim}: measure at the value found", self.measure_unit),
                "window": told(self.window, f"{self.path}: the measure stays within its size", self.unit, "end"),
                "size": told(self.size, f"{self.aim}: tolerance of the measure", self.measure_unit),
                "slope": (
                    (), np.asarray(self.slope),
                    {
                        "units": f"{udunits(self.measure_unit)}/({udunits(self.unit)})",
                        "long_name": f"{self.aim}: change of the measure per unit of {self.path}",
                    },
                ),
                **variables_of(self),
                **({} if self.range is None else variables_of(self.range, "range_") | self.range.variables()),
            },
            "a tuned setting",
        )  # fmt: skip
