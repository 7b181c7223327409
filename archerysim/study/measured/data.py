"""Data of one's own from CSV: draw-force points, arrow speeds, tracks of high-speed films.

The header says what stands in a column and in which unit, ``draw_length [in],force [lb]``; a cell is a number
(``27 1/4`` too). Columns may stand in any order; commas, semicolons or tabs separate them; lines that begin
with # and empty lines are passed over.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, ClassVar, Self, TypeVar

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.csv_table import read_table
from archerysim.fields.file_writing import write_text
from archerysim.fields.given import several
from archerysim.fields.quantity import Quantity

Row = tuple[float, ...]
T = TypeVar("T", bound="_Table")


@dataclass(frozen=True)
class _Table:
    """Columns of one file, in SI; the fields of a kind of data are its columns.

    Made from numbers with their units, ``DrawForce(([15, 20], "in"), ([10, 18], "lbf"))``, or by `with_si`.
    """

    columns: ClassVar[dict[str, Quantity]] = {}
    optional: ClassVar[frozenset[str]] = frozenset()
    gaps: ClassVar[bool] = False

    def __post_init__(self) -> None:
        for name, about in self.columns.items():
            given = several(name, getattr(self, name), about.unit)
            object.__setattr__(self, name, tuple(self._value(name, about, one) for one in given))
        self._check()

    @classmethod
    def with_si(cls, *columns: Iterable[float], **named: Iterable[float]) -> Self:
        """Made from columns of numbers in SI, in the order of the fields or by name.

        Raises
        ------
        SetupError
            If the columns do not fit together.
        """
        made, given = object.__new__(cls), dict(zip(cls.columns, columns, strict=False)) | named
        for name in cls.columns:
            object.__setattr__(made, name, tuple(float(one) for one in given.pop(name, ())))
        if given:
            raise SetupError(next(iter(given)), "is not a column known here", f"Use {', '.join(cls.columns)}")
        made._check()
        return made

    @classmethod
    def _value(cls, name: str, about: Quantity, given: Any) -> float:
        if cls.gaps and name in cls.optional and str(given).startswith("nan"):
            return math.nan
        return about.single(name, given, "refused")

    def _check(self) -> None:
        sizes = {len(row) for row in self.rows().values()}
        if len(sizes) != 1:
            raise SetupError(type(self).__name__, "the columns differ in length", "Give each the same number of values")
        if sizes == {0}:
            raise SetupError(type(self).__name__, "there is no row", "Give one at least")

    def rows(self) -> dict[str, Row]:
        """Columns that are given, by name."""
        return {one.name: getattr(self, one.name) for one in fields(self) if getattr(self, one.name)}

    def __len__(self) -> int:
        return len(next(iter(self.rows().values())))

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Self:
        """Read a CSV file.

        Raises
        ------
        SetupError
            One that names file, row, column, value and what is allowed.
        """
        return _table(cls, path)

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write a CSV file that `read` gives back exactly; units in the header.

        Raises
        ------
        SetupError
            If it cannot be written.
        """
        rows = self.rows()
        texts = []
        for name, values in rows.items():
            unit = self.columns[name].unit
            texts.append([f"{name} [{unit}]", *(_cell(value, unit) for value in values)])
        write_text(path, "".join(",".join(line) + "\n" for line in zip(*texts, strict=True)), "out")


@dataclass(frozen=True)
class DrawForce(_Table):
    """Points of a draw-force curve.

    Attributes
    ----------
    draw_length : tuple of float
        As the trade measures it: throat to pivot, and 1.75 in more [m].
    force : tuple of float
        On the scale [N].

    Examples
    --------
    >>> import archerysim
    >>> scale = archerysim.DrawForce(draw_length=([24, 26, 28], "in"), force=([25.5, 29.5, 34], "lb"))
    >>> [round(force, 1) for force in scale.force]  # [N]
    [113.4, 131.2, 151.2]
    """

    draw_length: Any = ()
    force: Any = ()
    columns: ClassVar[dict[str, Quantity]] = {
        "draw_length": Quantity(text="throat to pivot and 1.75 in", unit="in", low="5 in", high="36 in"),
        "force": Quantity(text="on the scale", unit="lbf", low="0 lbf", high="200 lbf"),
    }


@dataclass(frozen=True)
class Speeds(_Table):
    """Speeds of arrows of known mass.

    Attributes
    ----------
    arrow_mass : tuple of float
        Of the whole arrow [kg].
    speed : tuple of float
        [m/s]
    distance : tuple of float
        Where it was measured, from the pivot [m]; empty: as the arrow leaves the bow, at clear.

    Examples
    --------
    >>> import archerysim
    >>> speeds = archerysim.Speeds(arrow_mass=([19, 25], "g"), speed=([183, 165], "fps"))
    >>> [round(speed, 1) for speed in speeds.speed]  # [m/s]
    [55.8, 50.3]
    """

    arrow_mass: Any = ()
    speed: Any = ()
    distance: Any = ()
    columns: ClassVar[dict[str, Quantity]] = {
        "arrow_mass": Quantity(text="of the whole arrow", unit="gr", low="80 gr", high="1200 gr"),
        "speed": Quantity(text="of the arrow", unit="fps", low="30 fps", high="400 fps"),
        "distance": Quantity(text="of the place of measuring from the pivot", unit="m", low="1 m", high="100 m"),
    }
    optional: ClassVar[frozenset[str]] = frozenset({"distance"})


@dataclass(frozen=True)
class Track(_Table):
    """Track of nock and point from a high-speed film.

    In the riser's axes at full draw: origin at the pivot, x towards the target, y up along the riser. Time zero
    is where the first finger begins to open. A cell left empty was not seen (nan).

    Attributes
    ----------
    time : tuple of float
        [s]
    nock_x, nock_y : tuple of float
        Of the throat's middle [m].
    point_y : tuple of float
        Of the front end of the shaft [m].

    Examples
    --------
    >>> import archerysim
    >>> film = archerysim.Track(time=([0, 2, 4], "ms"), nock_y=([5.0, 5.1, 5.3], "mm"))
    >>> film.time, len(film.nock_y)  # [s]
    ((0.0, 0.002, 0.004), 3)
    """

    time: Any = ()
    nock_x: Any = ()
    nock_y: Any = ()
    point_y: Any = ()
    columns: ClassVar[dict[str, Quantity]] = {
        "time": Quantity(text="since the first finger opens", unit="ms", low="-200 ms", high="500 ms"),
        "nock_x": Quantity(text="throat, towards the target", unit="mm", low="-1200 mm", high="1500 mm"),
        "nock_y": Quantity(text="throat, up", unit="mm", low="-500 mm", high="500 mm"),
        "point_y": Quantity(text="front end of the shaft, up", unit="mm", low="-500 mm", high="500 mm"),
    }
    optional: ClassVar[frozenset[str]] = frozenset({"nock_x", "nock_y", "point_y"})
    gaps: ClassVar[bool] = True

    def _check(self) -> None:
        _Table._check(self)
        if len(self.rows()) < 2:
            raise SetupError("track", "there is a time and nothing else", "Give nock_x, nock_y or point_y")
        if any(not late > early for early, late in zip(self.time, self.time[1:], strict=False)):
            raise SetupError("track", "the times do not rise from row to row", "Sort the rows by time")


@dataclass(frozen=True)
class OwnData:
    """What was measured on one bow; at least one of the three.

    Attributes
    ----------
    draw_force : DrawForce or None
    speeds : Speeds or None
    track : Track or None

    Examples
    --------
    >>> import archerysim
    >>> scale = archerysim.DrawForce(draw_length=([24, 26, 28], "in"), force=([25.5, 29.5, 34], "lb"))
    >>> data = archerysim.OwnData(draw_force=scale)
    >>> data.speeds is None, data.track is None
    (True, True)
    """

    draw_force: DrawForce | None = None
    speeds: Speeds | None = None
    track: Track | None = None

    def __post_init__(self) -> None:
        if self.draw_force is None and self.speeds is None and self.track is None:
            raise SetupError("data", "nothing was measured", "Give draw_force, speeds or track")

    @classmethod
    def read(
        cls,
        draw_force: str | os.PathLike[str] | None = None,
        speeds: str | os.PathLike[str] | None = None,
        track: str | os.PathLike[str] | None = None,
    ) -> OwnData:
        """Read it from CSV files.

        Raises
        ------
        SetupError

        Examples
        --------
        >>> import archerysim
        >>> from tempfile import TemporaryDirectory
        >>> scale = archerysim.DrawForce(draw_length=([24, 28], "in"), force=([25.5, 34], "lb"))
        >>> with TemporaryDirectory() as folder:
        ...     scale.write(f"{folder}/scale.csv")
        ...     data = archerysim.OwnData.read(draw_force=f"{folder}/scale.csv")
        >>> data.draw_force == scale
        True
        """
        return cls(
            DrawForce.read(draw_force) if draw_force is not None else None,
            Speeds.read(speeds) if speeds is not None else None,
            Track.read(track) if track is not None else None,
        )


def _cell(value: float, unit: str) -> str:
    if math.isnan(value):
        return ""
    number, _, written = units.write(value, unit).partition(" ")
    return number if written == unit else repr(units.from_si(value, unit))


def _table(kind: type[T], path: str | os.PathLike[str]) -> T:
    """A file's table, in SI."""
    gaps = kind.optional if kind.gaps else frozenset()
    found = read_table(path, kind.columns, kind.optional, gaps)
    try:
        return kind.with_si(**found)
    except SetupError as error:
        raise SetupError(Path(path).name, error.problem, error.remedy) from None
