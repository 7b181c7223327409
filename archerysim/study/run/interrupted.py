"""A sweep that was interrupted, with what it had done."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import xarray


class Interrupted(KeyboardInterrupt):
    """Raised by `sweep` when Ctrl-C (or a notebook's stop) ends it; a `KeyboardInterrupt` that carries what is done.

    If nothing is done yet, a plain `KeyboardInterrupt` is raised.

    With ``store=`` nothing is lost in the first place: the same call goes on from there.

    Attributes
    ----------
    data : xarray.Dataset
        The whole table as `sweep` would have returned it. Points not shot have no numbers, ``NOT_SHOT`` (-2) as
        ``status``, and "interrupted: not shot" as ``reason``. The attribute ``points_not_shot`` counts them.
    done, total : int
        Points shot (or read from a store), and all.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> def stop(done, total):  # stands for Ctrl-C
    ...     if done == 2:
    ...         raise KeyboardInterrupt
    >>> try:
    ...     data = archerysim.sweep(setup, {"nock.locators.reading": "5, 6, 7, 8 mm"}, workers=1, progress=stop)
    ... except archerysim.Interrupted as left:
    ...     data = left.data
    >>> sorted(set(data["status"].values.tolist()))  # -2: not shot
    [-2, 0]
    """

    def __init__(self, data: xarray.Dataset, done: int, total: int) -> None:
        super().__init__(data, done, total)
        self.data, self.done, self.total = data, done, total

    def __str__(self) -> str:
        return f"{self.done} of {self.total} points are shot; the attribute data holds them"
