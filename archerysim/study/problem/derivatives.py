"""How outputs change with inputs: checked differences, with what they may be off, or the contact that switches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, words

if TYPE_CHECKING:
    import xarray

    from archerysim.study.problem.problem import Problem

STEP = 0.01  # of the way between an input's bounds: of a normal prior a tenth of its standard deviation
SHORTER = (1.0, 0.1)  # of that, tried in turn where a contact switches or a bow has no shot
PARTS = (1.0, -1.0, 0.5, -0.5)  # of the step, at which a bow is shot


@result("inputs", "outputs", "values", "errors", "reasons")
@dataclass(frozen=True)
class Derivatives:
    """Derivatives of the outputs at one vector.

    Attributes
    ----------
    inputs, outputs : tuple of str
    input_units, output_units : tuple of str
    at : (k,) array
        The vector.
    steps : (k,) array
        The longest step either way, in the inputs' units; a tenth of what was asked where that gives no derivative.
    values : (k, m) array
        Output per input, each in its unit; nan where ``reasons`` says why.
    errors : (k, m) array
        What each may be off: how far central differences over the whole and over half the step lie apart.
    reasons : tuple of str
        For each input: "" or why it has no derivative: a contact that switches within the step, no shot, no room. Of
        contacts are watched: the rest met again, the arm struck and how often, the side support, the tail; limbs that
        are slapped by the string are not. Errors that are large beside the value tell of such a bend.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> asked = archerysim.problem(setup, {"nock.locators.reading": "0.5 mm"}, ("pitch",))
    >>> found = asked.derivatives()
    >>> bool(found.values[0, 0] < 0.0), found.reasons  # locators up, nose down
    (True, ('',))
    """

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    input_units: tuple[str, ...]
    output_units: tuple[str, ...]
    at: np.ndarray
    steps: np.ndarray
    values: np.ndarray
    errors: np.ndarray
    reasons: tuple[str, ...]

    def to_xarray(self) -> xarray.Dataset:
        """Derivatives and their errors of each output, along "input".

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> asked = archerysim.problem(setup, {"nock.locators.reading": "0.5 mm"}, ("pitch",))
        >>> sorted(asked.derivatives().to_xarray().data_vars)
        ['at', 'pitch', 'pitch_error', 'reason', 'step', 'unit']
        """
        table: Variables = {
            "unit": words([one or "1" for one in self.input_units], "input", "unit of the input"),
            "at": (("input",), self.at, {"long_name": "the input's value, in its unit"}),
            "step": (("input",), self.steps, {"long_name": "longest step either way, in the input's unit"}),
            "reason": words(self.reasons, "input", "why there is no derivative"),
        }
        for m, (name, unit) in enumerate(zip(self.outputs, self.output_units, strict=True)):
            for ending, what, text in (("", self.values, "change"), ("_error", self.errors, "error of the change")):
                about = {"long_name": f"{name}: {text} [{unit or '1'}] for one unit of the input"}
                table[name.replace(".", "_") + ending] = (("input",), what[:, m], about)
        return dataset(table, "derivatives").assign_coords(input=list(self.inputs))


def derivatives(asked: Problem, x: Any = None, steps: Any = None) -> Derivatives:
    """Derivatives of a problem's outputs; see `Problem.derivatives`."""
    low, high = asked.bounds.T
    at = asked.today if x is None else _numbers("x", x, low.size)
    wide = STEP * (high - low) if steps is None else _numbers("steps", steps, low.size)
    if not (wide > 0.0).all():
        raise SetupError("steps", f"{steps!r} are not all positive", "Give a step for each input, in its unit")
    first = asked.evaluate(at[None, :])
    if first.failed:
        raise SetupError("x", f"has no shot: {first.reasons[0]}", "Ask at another vector")
    shape = (low.size, len(asked.outputs))
    values, errors, reasons = np.full(shape, np.nan), np.full(shape, np.nan), [""] * low.size
    used, open_ = np.array(wide), list(range(low.size))
    for size in SHORTER:
        used[open_] = size * wide[open_]
        points = [at + part * used[k] * _only(k, low.size) for k in open_ for part in PARTS]
        found = asked.evaluate(np.array(points))
        for place, k in enumerate(open_):
            around = slice(place * len(PARTS), (place + 1) * len(PARTS))
            step = f"{used[k]:.3g} {asked.units[k]}".rstrip()
            if not low[k] <= at[k] - used[k] <= at[k] + used[k] <= high[k]:
                reasons[k] = f"nearer to the end of its range than {step}"
            else:
                reasons[k] = next((why for why in found.reasons[around] if why), "")
                reasons[k] = reasons[k] or _switched(first.contacts[0], found.contacts[around], step)
            if not reasons[k] and not np.isfinite(found.values[around]).all():
                reasons[k] = "an output has no value in one of the shots"
            if not reasons[k]:
                up, down, near_up, near_down = found.values[around]
                whole, half = (up - down) / (2.0 * used[k]), (near_up - near_down) / used[k]
                values[k], errors[k] = half, np.abs(whole - half)
        open_ = [k for k in open_ if reasons[k]]
        if not open_:
            break
    return Derivatives(
        asked.names, asked.output_names, asked.units, asked.output_units, at, used, values, errors, tuple(reasons)
    )


def _numbers(name: str, given: Any, count: int) -> np.ndarray:
    """A number for each input; one number is that of all steps."""
    try:
        found = np.asarray(given, dtype=float)
        found = np.full(count, float(found)) if name == "steps" and found.ndim == 0 else found
    except (TypeError, ValueError):
        found = np.zeros(0)
    if found.shape != (count,) or not np.isfinite(found).all():
        raise SetupError(name, f"{given!r} is not {count} finite numbers", "Give one for each input, in its unit")
    return found


def _switched(here: tuple[str, ...], around: tuple[tuple[str, ...], ...], step: str) -> str:
    """Which contacts are met here and not in every shot around, or the other way; empty where none."""
    told = sorted({one for there in around for one in {*there} ^ {*here}})
    return f"a contact switches within {step}: {', '.join(told)}" if told else ""


def _only(k: int, count: int) -> np.ndarray:
    one = np.zeros(count)
    one[k] = 1.0
    return one
