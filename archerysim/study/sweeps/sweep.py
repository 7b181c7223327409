"""Many shots: over every combination of some values, or over the rows of a table."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from archerysim.equipment import NO_CHANGES, Setup, SetupError
from archerysim.kernel_cache.interrupts import put_off
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import HEIGHT, check_held, hold_words
from archerysim.shot.planes import check_support
from archerysim.study.run.how_to_run import HowToRun
from archerysim.study.run.interrupted import Interrupted
from archerysim.study.run.points import points_of
from archerysim.study.run.row import LaunchNumbers
from archerysim.study.run.run import run
from archerysim.study.run.store import opened
from archerysim.study.run.store_contents import write_down
from archerysim.study.sweeps.band import Draws, shoot_draws, with_band
from archerysim.study.sweeps.dataset import Table, attributes_of, dataset_of, load_datasets

if TYPE_CHECKING:
    import xarray


def sweep(
    bow: Setup | FittedBow,
    over: Mapping[str, Any] | None = None,
    *,
    cases: Any = None,
    hold: str | tuple[str, ...] | list[str] | None = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: bool | Callable[[int, int], None] | None = None,
    changes: Changes = NO_CHANGES,
    band: bool | int = False,
    uncertainty: Mapping[str, Any] | None = None,
) -> xarray.Dataset:
    """Shoot at many points.

    The bow is fitted once and frozen as built; every point changes it from there, holding what ``hold``
    says. A point that changes what is measured on the bow (tillers, brace height, draw weight) is fitted anew with it,
    which the attribute ``fitted_anew`` says. A point that fails is a row with its status and reason.

    Parameters
    ----------
    bow : Setup or FittedBow
        Measured or built.
    over : mapping of dotted path to values
        Every combination is shot. Values are a range in words ("4 mm:12 mm:0.5 mm"), texts with units, or other numbers
        that carry theirs, ``([4, 5], "mm")``; what `with_si` returns is taken as SI.
    cases : table
        Instead of ``over``: a mapping of columns, a data frame or a list of mappings; one shot per row. A column's name
        may say the unit of its numbers: "arrow.point_mass [gr]".
    hold : str or tuple of str, optional
        What is held when something changes: "reading" (locators set back to the same reading), "brace height" (string
        twisted back to the same brace height), or "refit" (fitted anew at every point). Default: nothing else is
        touched: locators tied at their place, string kept, limbs kept.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`.
    planes : int, optional
        As for `archerysim.shoot`.
    workers : int, optional
        Processes. Default: all cores where that pays, else this process alone. The numbers do not depend
        on it.
    executor : concurrent.futures.Executor, optional
        Runs the points instead: a pool of the standard library, of loky or mpi4py, or ``client.get_executor()`` of
        dask.distributed. ``workers`` then says how many it has (each is given a few batches at a time).
    store : path, optional
        A file in which each point is kept as soon as it is done; made if it does not exist. Points that it holds
        already, computed by this version of the physics, are read instead. Several sweeps may share one.
    progress : bool or callable, optional
        None: a bar on a terminal if it takes longer than about two seconds. A callable is given (done, all).
    changes : mapping of dotted path to value, optional
        Made to the bow before it is swept, as for `archerysim.shoot`, with the same hold.
    band : bool or int
        How sure the curves are: the same points are shot again with bows drawn at random from what an archer cannot
        know better; with 32 of them (True), or as many as given, a power of two. What is varied has exactly its value;
        a measured bow is fitted anew for every draw. ``store``, ``workers`` and ``progress`` apply to them too;
        ``progress`` then counts the draws.
    uncertainty : mapping of dotted path to standard deviation, optional
        For the draws, as for `archerysim.uncertainty`; on the command line ``--known-to``. Default: the usual ones.

    Returns
    -------
    xarray.Dataset
        One dimension for each varied field (or "case"), and "moment": "separation", "clear". The dimension of
        "nock.locators.reading" is ``nock_locators_reading``, its attribute ``path`` the dotted path. Each variable has
        ``long_name`` and, unless it is text, ``units`` by the CF conventions ("degree"); ``status`` is 0 where all went
        well and ``reason`` says what did not. The attributes say what was held, the setup, the versions and the date.
        With a store, the attributes ``points_read`` and ``points_computed`` say where the rows came from. With a band
        there are ``X_low``, ``X_median`` and ``X_high`` for each number X: the 5 %, 50 % and 95 % points of the draws.
        For what is sideways, such as ``yaw``, they are those of its change from the bow's own point, or from the first
        point where the sweep lacks that. A point where half of the draws give no shot has no band; ``draws_failed``
        counts them. Each is of one point by itself; how steep the curves are is known better: along a reading, or the
        only numbers that are varied, ``X_slope`` is that of the straight line that fits X best, ``X_slope_low``,
        ``X_slope_median`` and ``X_slope_high`` are points of the draws', and ``X_slope_of_draws`` has them all, X being
        pitch, pitch in the bow's axes, pitch rate, vertical velocity, angle of attack and speed. The attributes
        ``draws`` and ``draws_failed_because`` say how many there were, and why the first failed.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself, the points or the hold are wrong.
    StoreError
        Where the store is damaged, is not a store, or cannot be written; its file is left as it is.
    Interrupted
        On Ctrl-C once a point is done; a `KeyboardInterrupt` whose ``data`` holds the points that are done. While the
        band is shot, ``data`` holds all points and the band of the draws that are done.

    See Also
    --------
    open_store : The same Dataset from the store alone.

    Warns
    -----
    UserWarning
        Where the store holds rows of another version, which are left alone and not used, or damaged rows, which are
        computed again.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
    >>> data = archerysim.sweep(bow, {"nock.locators.reading": "4 mm:12 mm:4 mm"}, mesh="coarse")
    >>> data["angle_of_attack"].sel(moment="clear").values.round(1)  # [deg]
    array([ 0.2, -0.2, -0.6])
    >>> data["angle_of_attack"].attrs["units"]
    'degree'
    """
    how = HowToRun(workers, executor, store, progress)  # refused before the bow is fitted
    words = hold_words(hold)
    bow = FittedBow.of(bow, mesh, changes, words, planes)
    points = points_of(over, cases, bow, words)
    paths = [axis.path for axis in points.axes]
    check_support(bow.setup, bow.planes, paths)
    if HEIGHT in paths:
        check_held((HEIGHT,), words)
    if uncertainty and band is False:
        raise SetupError("uncertainty", "says how wide a band is, but no band was asked for", "Give a band too")
    draws = Draws.of(bow, points, band, uncertainty) if band is not False else None
    question = LaunchNumbers(tuple(sorted(words)))
    attributes = attributes_of(bow, points)
    table = Table(len(points))
    stopped = False
    with opened(store) as kept:
        if kept is not None:
            write_down(kept, bow, points, question, attributes)
        with closing(run(bow, points, question, replace(how, store=kept), meanwhile=load_datasets)) as flow:
            try:
                for index, row in flow:
                    table.put(index, row)
            except KeyboardInterrupt as error:
                if isinstance(error.__context__, KeyboardInterrupt):
                    raise  # the second: end at once
                stopped = True
    finished = table.close()
    if not finished:
        raise KeyboardInterrupt
    if not stopped and (table.status != 0).all():
        first = table.words["reason"][0]
        warnings.warn(f"no point gave a shot; the first: {first}", stacklevel=2)
    with put_off() as came:
        data = dataset_of(points, table, attributes)
    if stopped or came:
        data.attrs["points_not_shot"] = len(points) - finished
        raise Interrupted(data, finished, len(points))
    if kept is not None:
        data.attrs |= {"points_read": len(points) - kept.written, "points_computed": kept.written}
    if draws is None:
        return data
    drawn = shoot_draws(draws, points, how)
    data = with_band(data, drawn)
    if not drawn.shot.all():
        raise Interrupted(data, finished, len(points))
    return data
