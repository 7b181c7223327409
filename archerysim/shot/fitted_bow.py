"""A fitted bow that shoots: what every study is handed."""

from __future__ import annotations

import copy
import hashlib
import json
import pickle
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from dataclasses import astuple, dataclass, field, replace
from functools import cached_property
from threading import Lock
from typing import Any, NamedTuple, final

from archerysim.equipment import NO_CHANGES, Setup, SetupError, filled
from archerysim.equipment.readings import READING, by_underside
from archerysim.errors import ShotError
from archerysim.fields.paths import read
from archerysim.fields.quantity import in_si
from archerysim.fields.record import plain
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.before import Before, before_of, own_weight
from archerysim.shot.hold import REFIT, Hold, held
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import DrawCurve, curve_of, shoot_built, shoot_drawn
from archerysim.shot.statics.brace import Braced, brace_to_height, brace_with_string
from archerysim.shot.statics.draw import TRADE, Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit import Met, fit

KEPT, KEPT_TRACED = 256, 8  # launches; one is about 35 kB, one with its trace 760 kB
PLACE = (READING, "nock.locators.place")
MEASURED = (
    "bow.brace_height", "bow.upper_tiller", "bow.lower_tiller", "bow.draw_weight", "bow.draw_weight_at",
    "bow.pocket_angle", "bow.stiffness_ratio",
)  # fmt: skip

Changes = Mapping[str, Any]


class Statics(NamedTuple):
    """The bow braced, and drawn."""

    braced: Braced
    drawing: Drawing
    drawn: Drawn


class Memo:
    """The launches asked for last, and why others failed; for several threads."""

    def __init__(self, most: int) -> None:
        self.most, self._lock = most, Lock()
        self._kept: OrderedDict[bytes, Launch | SetupError | ShotError] = OrderedDict()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: bytes) -> Launch | SetupError | ShotError | None:
        """What is kept under a key."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def put(self, key: bytes, result: Launch | SetupError | ShotError) -> None:
        """Keep a result; the one not asked for longest makes room."""
        with self._lock:
            self._kept[key] = result
            self._kept.move_to_end(key)
            while len(self._kept) > self.most:
                self._kept.popitem(last=False)


@final
@dataclass(frozen=True, eq=False)
class FittedBow:
    """A bow as built, fitted once, and its shots. Equal to another of the same setup, mesh and bow before.

    Attributes
    ----------
    given : Setup
        As the user gave it; of a bow with changes (`with_changes`) as built.
    before : Before or None
        The bow that changes are told against; with None nothing is said of changes.
    mesh : Mesh
    setup : Setup
        As built. It tells readings as the given one does. Its locators are tied at their place; with changes that set
        them to a reading, they are placed by it when braced.
    met : tuple of Met
        Measured and found, of the bow that was fitted; empty where it was given as built.
    stiffness_factor : float
        What both limbs' given (or usual) stiffness was multiplied by.
    reading : float
        By the underside [m].
    brace_height : float
        [m]
    step_factor : float
        Multiplies the time step chosen (at most 1).
    """

    given: Setup
    before: Before | None
    mesh: Mesh
    setup: Setup
    met: tuple[Met, ...]
    stiffness_factor: float
    reading: float
    brace_height: float
    step_factor: float = 1.0
    _kept: Memo = field(default_factory=lambda: Memo(KEPT), init=False, repr=False)
    _traced: Memo = field(default_factory=lambda: Memo(KEPT_TRACED), init=False, repr=False)

    @classmethod
    def of(
        cls, bow: Setup | FittedBow, mesh: str | Mesh = "default", before: Setup | Before | None = None
    ) -> FittedBow:
        """Fit a setup, once; a bow already fitted is kept, with its own mesh and what its changes are told against.

        Parameters
        ----------
        bow : Setup or FittedBow
        mesh : str or Mesh
        before : Setup, optional
            The bow that changes are told against. Default: the setup itself; where its bolts have been turned since it
            was measured, as it was measured.

        Raises
        ------
        SetupError, ShotError
        """
        if isinstance(bow, FittedBow):
            return bow if before is None else replace(bow, before=before_of(before, bow.mesh))
        cells = mesh_of(mesh)
        done = fit(bow, cells)
        built = done.setup
        if done.drawing is not None:
            braced = done.drawing.braced
        else:
            full = filled(built)
            braced = brace_with_string(full, full.number("string.length"), cells)
        then = before_of(before, cells, bow) or Before(bow, own_weight(done, braced))
        if built.nock.locators.place is None:
            built = built.with_si(**{"nock.locators.place": braced.throat})
        new = cls(bow, then, cells, built, done.met, done.stiffness_factor, braced.reading, braced.brace_height)
        drawing, drawn = done.drawing, done.drawn
        if drawing is not None and drawn is not None and drawn.throat_x == full_draw_x(drawing.setup):
            new.__dict__["statics"] = Statics(braced, drawing, drawn)  # the fit has found them already
        return new

    def key(self) -> str:
        """What the bow follows from, as a hash: setup, mesh, the bow before."""
        before = None if self.before is None else (plain(self.before.setup), self.before.words)
        text = json.dumps((plain(self.given), astuple(self.mesh), self.step_factor, before), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:32]

    def __eq__(self, other: object) -> bool:
        return self.key() == other.key() if isinstance(other, FittedBow) else NotImplemented

    def __hash__(self) -> int:
        return hash(self.key())

    def __repr__(self) -> str:
        return (
            f"FittedBow({self.setup.name!r}: brace height {1e3 * self.brace_height:.1f} mm, "
            f"reading {1e3 * self.reading:.1f} mm by the underside)"
        )

    def __reduce__(self) -> tuple[Any, ...]:
        return FittedBow, (
            self.given, self.before, self.mesh, self.setup, self.met, self.stiffness_factor, self.reading,
            self.brace_height, self.step_factor,
        )  # fmt: skip

    @cached_property
    def statics(self) -> Statics:
        """Braced, and drawn as far as the archer draws; may raise SetupError, ShotError."""
        full = filled(self.setup)
        braced = brace_with_string(full, full.number("string.length"), self.mesh)
        return Statics(braced, *draw_to(full, braced, full_draw_x(full)))

    def drawn_to(self, length: Any) -> Statics:
        """Drawn to another draw length, by the trade: "28 in", ``(0.7, "m")``.

        Raises
        ------
        SetupError, ShotError
        """
        full = filled(self.setup)
        braced = brace_with_string(full, full.number("string.length"), self.mesh)
        return Statics(braced, *draw_to(full, braced, TRADE - in_si("length", length, "in")))

    def draw_curve(self, points: int = 25) -> DrawCurve:
        """The draw-force curve from brace to the archer's full draw, as of `archerysim.draw`.

        Raises
        ------
        SetupError, ShotError
        """
        return curve_of(self.setup, self.statics.drawing, self.statics.drawn, points, self.before)

    def refuse_measured(self, paths: Iterable[str], hold: Hold = None) -> None:
        """Refuse to change what is measured on a bow that is fitted once.

        Raises
        ------
        SetupError
        """
        measured = [path for path in paths if path in MEASURED]
        if measured and self.given.form == "measured" and held(hold) != REFIT:
            raise SetupError(
                measured[0],
                "is measured on the bow: it follows when something on the bow is changed",
                'Change upper_limb.bolt_turns, lower_limb.bolt_turns or string.length, or hold "refit"',
            )

    def changed(self, changes: Changes, hold: Hold = None) -> Setup:
        """The bow as built after some changes, holding what is to be held.

        A reading among the changes is told by the setup's convention, unless that is changed beside it. A reading that
        is held is the number that the square shows by that convention, with a nock of another height too.

        Parameters
        ----------
        changes : mapping of path to value
            As `Setup.replace` takes them: with units, or `archerysim.with_si`.
        hold : str or tuple of str, optional
            Of "reading" and "brace height", or "refit".

        Raises
        ------
        SetupError, ShotError
        """
        words = held(hold)
        if words == REFIT:
            return fit(self._given_with(changes), self.mesh).setup
        self.refuse_measured(changes)
        setup = self.setup.replace(changes)
        if "reading" in words and not any(path in PLACE for path in changes):
            setup = setup.replace(by_underside(self.setup, self.reading))
        if "brace height" in words:
            if "string.length" in changes:
                raise SetupError("string.length", "cannot change while the brace height is held", "Hold something else")
            braced = brace_to_height(filled(setup), self.brace_height, self.mesh)
            setup = setup.with_si(**{"string.length": braced.string_length})
        return setup

    def _given_with(self, changes: Changes) -> Setup:
        if self.given.form != "measured":
            raise SetupError("hold", "'refit' needs a setup of form \"measured\"", "Leave it out")
        return self.given.replace(changes)

    def with_changes(self, changes: Changes, hold: Hold = None) -> FittedBow:
        """The bow with some changes made; with hold "refit" fitted anew, else with its limbs kept.

        Raises
        ------
        SetupError, ShotError
        """
        if held(hold) == REFIT:
            new = FittedBow.of(self._given_with(changes), self.mesh, self.before)
            return replace(new, step_factor=self.step_factor)
        setup = self.changed(changes, hold)
        full = filled(setup)
        braced = brace_with_string(full, full.number("string.length"), self.mesh)
        return replace(self, given=setup, setup=setup, reading=braced.reading, brace_height=braced.brace_height)

    def launch(self, changes: Changes = NO_CHANGES, hold: Hold = None, *, trace: bool = False) -> Launch:
        """A shot of the bow with some changes, as of `changed`; those asked for last are kept, failures too.

        Raises
        ------
        SetupError, ShotError
        """
        memo, words = self._traced if trace else self._kept, held(hold)
        changes = read(Setup, changes)
        key = pickle.dumps((tuple(changes.items()), words))
        result = memo.get(key)
        if result is None:
            try:
                result = self._shot(changes, words, trace)
            except (SetupError, ShotError) as error:
                memo.put(key, copy.copy(error))  # without the frames that it came through, and their arrays
                raise
            memo.put(key, result)
        if isinstance(result, Launch):
            return result
        raise copy.copy(result)

    def at_reading(self, reading: Any) -> Launch:
        """A shot with the locators set to a reading by the underside: "9 mm", ``(0.009, "m")``.

        Raises
        ------
        SetupError, ShotError
        """
        return self.launch(by_underside(self.setup, in_si("reading", reading, "mm")))

    def _shot(self, changes: Changes, words: tuple[str, ...], trace: bool) -> Launch:
        if not changes and not words:
            return shoot_drawn(
                self.setup, self.statics.drawing, self.statics.drawn, trace=trace, step_factor=self.step_factor,
                before=self.before,
            )  # fmt: skip
        return shoot_built(
            self.changed(changes, words), self.mesh, trace=trace, step_factor=self.step_factor, before=self.before
        )
