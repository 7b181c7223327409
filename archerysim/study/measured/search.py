"""The search for inputs that bring the model to measured data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from archerysim.equipment import InSi, Setup, SetupError, field_info, filled
from archerysim.fields.quantity import in_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.planes import check_support
from archerysim.study.measured.compare import (
    ERRORS,
    Alignment,
    DataCompared,
    Modelled,
    Residuals,
    after_clear,
    model_data,
    tables,
)
from archerysim.study.measured.data import OwnData
from archerysim.study.run.how_to_run import SIMPLY, HowToRun
from archerysim.study.run.row import Change, Row
from archerysim.study.run.run import run_in_order
from archerysim.study.uncertainty.inputs import SHARES, TIMES, Input, inputs_from, refuse_unmoved, usual_inputs

STIFFNESS = "limbs.stiffness_factor"
# further priors than those of `archerysim.study.uncertainty.inputs` [judgement]
MORE: tuple[Input, ...] = (
    Input("limbs.mass", 0.05, True, "scale [judgement]"),
    Input("string.mass_per_length", 0.1, True, "scale [judgement]"),
    Input("string.strand_mass_per_length", 0.1, True, "string on a scale [judgement]"),
    Input("archer.pressure_point", 0.003, False, "seen on the grip [judgement]"),
)
ALIGN: tuple[Input, ...] = (
    Input("track.time_offset", 1e-3, False, "first finger seen to open [judgement]"),
    Input("track.shift_x", 5e-3, False, "pivot marked in the picture [judgement]"),
    Input("track.shift_y", 5e-3, False, "pivot marked in the picture [judgement]"),
)
ALIGN_UNITS = {"track.time_offset": "ms", "track.shift_x": "mm", "track.shift_y": "mm"}
REACH = 5.0  # prior widths that a value may move either way
STEP = 0.02  # prior widths of a difference
FAILED = 1e3  # errors by which every row of a trial that has no shot is off
MOST_TRIALS = 60


def width(an_input: Input, full: Any) -> float:
    """Prior width of an input of a setup or a film [SI]."""
    return 1.0 * an_input.spread if an_input.path == STIFFNESS or an_input in ALIGN else an_input.size(full)


def setup_at(setup: Setup, inputs: tuple[Input, ...], z: np.ndarray) -> Setup:
    """The setup with its inputs moved by so many prior widths.

    Raises
    ------
    SetupError
    """
    full = filled(setup)
    shares = [float(one) for one in full.get(SHARES)]
    pair = [one for one in inputs if one.path.startswith(SHARES)]
    pair = pair if len(pair) == 2 else []  # the third finger takes what these two give up
    for one, amount in zip(inputs, z, strict=False):
        if amount == 0.0:
            continue
        by = float(amount) * width(one, full)
        if one in pair:
            shares[int(one.path[-1])] += by
            continue
        changes = _stiffer(setup, 1.0 + by) if one.path == STIFFNESS else one.moved(filled(setup), by)
        setup = setup.replace(changes)
    if pair:
        third = ({0, 1, 2} - {int(one.path[-1]) for one in pair}).pop()
        shares[third] += 1.0 - sum(shares)
        setup = setup.with_si(**{SHARES: tuple(shares)})
    return setup


@dataclass(frozen=True)
class Trial:
    """Asks what the model says of the bow fitted anew with its inputs moved by so many prior widths."""

    inputs: tuple[Input, ...]
    data: OwnData
    shots: ClassVar[int] = 4

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        return {
            "modelled": model_data(
                FittedBow.of(setup_at(bow.given, self.inputs, change["place"]), bow.mesh, planes=bow.planes), self.data
            )
        }


class Model:
    """Residuals over free inputs in prior widths, each setup drawn and shot once."""

    def __init__(
        self, bow: FittedBow, data: OwnData, inputs: tuple[Input, ...], errors: dict[str, float], align: bool,
        first: Modelled | None = None, how: HowToRun = SIMPLY,
    ) -> None:  # fmt: skip
        self.bow, self.data, self.inputs, self.errors, self.how = bow, data, inputs, errors, how
        self.setup, self.full = bow.given, filled(bow.given)
        wanted = ALIGN if align and data.track is not None else ()
        self.align = tuple(one for one in wanted if self._seen(one))
        self.all = (*inputs, *self.align)
        self.kept: dict[tuple[float, ...], Modelled | None] = {}
        self.trials = self.failed = 0
        first = model_data(bow, data) if first is None else first
        self.kept[(0.0,) * len(inputs)] = first
        track = data.track
        self.late = after_clear(first.path, np.array(track.time), Alignment()) if track and first.path else None

    def _seen(self, an_input: Input) -> bool:
        assert self.data.track is not None
        given = self.data.track.rows()
        return an_input.path.endswith("offset") or any(
            name[-1] == an_input.path[-1] for name in given if name != "time"
        )

    def width(self, an_input: Input) -> float:
        return width(an_input, self.full)

    def start(self, an_input: Input) -> float:
        if an_input.path == STIFFNESS:
            return 1.0
        return 0.0 if an_input in self.align else an_input.value(self.full)

    def unit(self, an_input: Input) -> str:
        return "" if an_input.path == STIFFNESS else ALIGN_UNITS.get(an_input.path) or field_info(an_input.path).unit

    def bounds(self) -> tuple[np.ndarray, np.ndarray]:
        low, high = np.full(len(self.all), -REACH), np.full(len(self.all), REACH)
        for k, an_input in enumerate(self.inputs):
            ends = (
                (0.1, 10.0)
                if an_input.path == STIFFNESS
                else (field_info(an_input.path).low, field_info(an_input.path).high)
            )
            if ends[0] is not None:
                low[k] = max(low[k], (ends[0] - self.start(an_input)) / self.width(an_input))
            if ends[1] is not None:
                high[k] = min(high[k], (ends[1] - self.start(an_input)) / self.width(an_input))
        return low, high

    def setup_at(self, z: np.ndarray) -> Setup:
        return setup_at(self.setup, self.inputs, z)

    def values(self, z: np.ndarray) -> np.ndarray:
        """What the setup there and the film's alignment hold for each input, in SI (k,)."""
        full = filled(self.setup_at(z))
        return np.array([
            float(self.start(one) + amount * self.width(one) if one.path == STIFFNESS or one in self.align
                  else one.value(full))
            for one, amount in zip(self.all, z, strict=True)
        ])  # fmt: skip

    def modelled(self, z: np.ndarray) -> Modelled | None:
        """What the model says there; None if it has no shot."""
        self.try_all([z])
        return self.kept[self._key(z)]

    def _key(self, z: np.ndarray) -> tuple[float, ...]:
        return tuple(float(v) for v in z[: len(self.inputs)])

    def try_all(self, places: list[np.ndarray]) -> None:
        """Fit, draw and shoot at all of some places where that has not been done yet."""
        new = {self._key(z): z for z in places if self._key(z) not in self.kept}
        rows = run_in_order(self.bow, [{"place": z} for z in new.values()], Trial(self.inputs, self.data), self.how)
        for key, row in zip(new, rows, strict=True):
            self.kept[key] = row.get("modelled")
        self.trials += len(new)
        self.failed += sum(row["status"] != 0 for row in rows)

    def alignment(self, z: np.ndarray) -> Alignment:
        named = zip(self.align, z[len(self.inputs) :], strict=True)
        return Alignment(**{one.path.partition(".")[2]: float(v) * one.spread for one, v in named})

    def tables(self, z: np.ndarray) -> tuple[Residuals, ...] | None:
        modelled = self.modelled(z)
        return None if modelled is None else tables(self.data, modelled, self.alignment(z), self.errors, self.late)

    def residuals(self, z: np.ndarray) -> np.ndarray | None:
        """Computed minus measured over errors; None if there is no shot."""
        found = self.tables(z)
        return None if found is None else -np.concatenate([one.scaled for one in found])

    def jacobian(self, z: np.ndarray) -> np.ndarray:
        here = self.residuals(z)
        low, high = self.bounds()
        assert here is not None
        columns = []
        steps = [[step for step in (STEP, -STEP) if low[k] <= z[k] + step <= high[k]] for k in range(len(self.all))]
        self.try_all([_moved(z, k, some[0]) for k, some in enumerate(steps) if some])
        for k, one in enumerate(self.all):
            for step in steps[k]:
                there = self.residuals(_moved(z, k, step))
                if there is not None and there.size == here.size:
                    columns.append((there - here) / step)
                    break
            else:
                raise SetupError(one.path, "no bow near this one can be drawn and shot", "Leave it out of free")
        return np.array(columns).T.reshape(here.size, len(self.all))

    def comparison(self, z: np.ndarray) -> DataCompared:
        modelled = self.modelled(z)
        assert modelled is not None
        shift = self.alignment(z)
        rows = tables(self.data, modelled, shift, self.errors, self.late)
        scaled = np.concatenate([one.scaled for one in rows])
        if not scaled.size:
            raise SetupError("data", "no measured row can be compared", "Look at the draw lengths and times")
        misfit = float(np.sqrt(np.mean(scaled**2)))
        return DataCompared(self.setup_at(z), self.data, modelled, shift, rows, misfit)


def _moved(z: np.ndarray, k: int, by: float) -> np.ndarray:
    there = z.copy()
    there[k] += by
    return there


def least(model: Model, priors: bool, start: np.ndarray | None = None) -> Any:
    """SciPy's answer of the bounded least squares, from the setup as it is."""
    from scipy.optimize import OptimizeResult, least_squares

    k = len(model.all)
    if k == 0:
        return OptimizeResult(x=np.zeros(0), success=True)
    size = model.residuals(np.zeros(k))
    assert size is not None

    def misses(z: np.ndarray) -> np.ndarray:
        found = model.residuals(z)
        found = np.full(size.size, FAILED) if found is None or found.size != size.size else found
        return np.concatenate([found, z]) if priors else found

    def slopes(z: np.ndarray) -> np.ndarray:
        found = model.jacobian(z)
        return np.vstack([found, np.eye(k)]) if priors else found

    return least_squares(
        misses,
        np.zeros(k) if start is None else start,
        slopes,
        bounds=model.bounds(),
        xtol=1e-4,
        ftol=1e-6,
        gtol=1e-8,
        max_nfev=MOST_TRIALS,
    )


def free_inputs(setup: Setup, free: tuple[str, ...], prior: Mapping[str, Any], planes: int) -> tuple[Input, ...]:
    """The free inputs with their prior widths, for shots in so many planes."""
    check_support(setup, planes, free)
    usual = {one.path: one for one in (*MORE, *usual_inputs(setup, planes))}
    full = filled(setup)
    out = []
    for path in free:
        if free.count(path) > 1:
            raise SetupError(path, "is named twice", "Name it once")
        if path == STIFFNESS:
            if setup.form == "measured":
                raise SetupError(path, "follows from the draw weight of a measured bow", "Free bow.draw_weight")
            size = in_si(path, prior.get(path, "5 %"), "%")
            if not size > 0.0:
                raise SetupError(path, f"a standard deviation of {prior[path]} is not positive", "Give a positive one")
            out.append(Input(path, size, False, "draw weight [judgement]"))
            continue
        refuse_unmoved(setup, path)
        if path in prior:
            own = {path: prior[path]}
            out += inputs_from(setup, InSi(own) if isinstance(prior, InSi) else own, planes)
        elif path in usual:
            out.append(usual[path])
        else:
            raise SetupError(path, "it is not known how well it is known", f'Give prior={{"{path}": "10 %"}}')
        if not out[-1].size(full) > 0.0:
            raise SetupError(path, "it is zero, and its prior width is a share of it", "Give a prior with a unit")
    for path in prior:
        if path not in free:
            raise SetupError(path, "has a prior and is not free", "Name it in free too")
    for head, most, why in ((SHARES, 2, "the shares are 1 in all"), (TIMES, 1, "it moves the times of all fingers")):
        named = [path for path in free if path.startswith(head)]
        if len(named) > most and (head == SHARES or TIMES in named):
            raise SetupError(named[-1], f"cannot be free beside {' and '.join(named[:-1])}: {why}", "Leave it out")
    return tuple(out)


def _stiffer(setup: Setup, factor: float) -> InSi:
    """Changes that multiply both limbs' bending stiffness."""
    changes: dict[str, Any] = {}
    for name in ("upper_limb", "lower_limb"):
        limb = getattr(setup, name)
        if limb.modulus is not None:
            changes[f"{name}.modulus"] = factor * limb.modulus
        else:
            changes[f"{name}.bending_stiffness"] = tuple(factor * v for v in limb.bending_stiffness)
    return InSi(changes)


def errors_of(given: Mapping[str, Any] | None) -> dict[str, float]:
    """Errors of the three kinds of data, in SI."""
    out = {}
    for kind, usual in ERRORS.items():
        unit = usual.split()[-1]
        value: Any = (given or {}).get(kind, usual)
        out[kind] = in_si(f"errors.{kind}", value, unit, "in SI" if isinstance(given, InSi) else "in changes")
        if not out[kind] > 0.0:
            raise SetupError(f"errors.{kind}", f"{value} is not positive", "Give how far one value may be off")
    for kind in given or {}:
        if kind not in ERRORS:
            raise SetupError(f"errors.{kind}", "is not a kind of data", f"Use {', '.join(ERRORS)}")
    return out


def inverse(information: np.ndarray) -> np.ndarray:
    """Inverse; infinite variances for inputs in directions of which the data know nothing."""
    values, vectors = np.linalg.eigh(information)
    open_ = values < 1e-10 * max(1.0, values.max())
    inverse = (vectors[:, ~open_] / values[~open_]) @ vectors[:, ~open_].T
    for k in np.flatnonzero((vectors[:, open_] ** 2).sum(axis=1) > 1e-6):
        inverse[k, k] = np.inf
    return np.asarray(inverse)
