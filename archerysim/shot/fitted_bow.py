"""A fitted bow that shoots: what every study is handed."""

from __future__ import annotations

import copy
import hashlib
import json
import math
import pickle
from collections.abc import Iterable, Mapping
from dataclasses import astuple, dataclass, field, replace
from functools import cached_property
from typing import Any, NamedTuple, final

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, filled_as_built, with_si
from archerysim.equipment.readings import READING, by_underside
from archerysim.errors import ShotError
from archerysim.fields.paths import read
from archerysim.fields.quantity import in_si
from archerysim.fields.record import plain
from archerysim.fields.small_table import html_table, one_line
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.bow_before import Before, lightest, turned_since
from archerysim.shot.changes import changed, refitted, without
from archerysim.shot.draw_curve import DrawCurve, curve_of
from archerysim.shot.edit import Edit, plain_edits
from archerysim.shot.from_full_draw import shoot_drawn
from archerysim.shot.hold import REFIT, Hold, check_held, hold_words
from archerysim.shot.kept_launches import Memo
from archerysim.shot.launch import Launch
from archerysim.shot.moving_mass import fit_to_speed
from archerysim.shot.planes import PLANES, check_support, planes_of
from archerysim.shot.statics.brace import Braced, brace_to_height, brace_with_string
from archerysim.shot.statics.draw import TRADE, Drawing, draw_to, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit import Fit, Met
from archerysim.shot.statics.fit_split import Laid

KEPT, KEPT_TRACED = 256, 8  # launches; one is about 35 kB, one with its trace 760 kB
PLACE = (READING, "nock.locators.place")

Changes = Mapping[str, Any]
TURNED_BACK = InSi({"limbs.bolt_turns": 0.0})


class Statics(NamedTuple):
    """The bow braced, and drawn."""

    braced: Braced
    drawing: Drawing
    drawn: Drawn


class AtBrace(NamedTuple):
    """What later changes hold: the locators' place on the string, their reading by the underside, brace height [m]."""

    place: float
    reading: float
    brace_height: float


@final
@dataclass(frozen=True, eq=False)
class FittedBow:
    """A bow as built, fitted once, and its shots.

    Two are equal if their setup, edits, mesh and bow before are.

    Attributes
    ----------
    given : Setup
        As the user gave it, with any changes to what is measured on the bow: what it was fitted to.
    before : Before or None
        The bow that changes are compared with: as the user first gave it, or as it was measured, where its bolts have
        been turned since and it was then lighter to draw. None: nothing is said about changes.
    mesh : Mesh
    setup : Setup
        As built, with its changes and the given one's convention for readings. Its locators are tied at their place,
        or, where they were set to a reading, placed by it when the bow is braced.
    met : tuple of Met
        How well the fitted bow meets each measured number; empty where it was given as built.
    stiffness_factor : float
        What both limbs' given (or usual) stiffness was multiplied by.
    draws : int
        Draws tried by the fit.
    edits : tuple of Edit
        What was changed on the given bow, one after the other.
    step_factor : float
        Multiplies the time step chosen (at most 1).
    laid : Laid or None
        What the fit laid the difference of the tillers to; None where the bow was given as built.
    remarks : tuple of str
        Where the given modulus and the measurements disagree.
    moving_factor : float
        What the mass of both limbs in front of their roots was multiplied by, to meet a measured speed.
    shape_factor : float
        What both limbs' natural curvature was multiplied by to meet the draw forces given.
    planes : int
        In how many planes it shoots: 1, the bow's own, or 2, sideways too; see `archerysim.shoot`.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.FittedBow.of(archerysim.load("examples/club-outdoor.toml"))
    >>> [met.path for met in bow.met]
    ['bow.brace_height', 'bow.upper_tiller', 'bow.lower_tiller', 'bow.draw_weight']
    >>> higher = bow.with_changes({"nock.locators.reading": "9 mm"})
    >>> round(higher.launch().clear.pitch - bow.launch().clear.pitch, 1)  # [deg], the nose goes down
    -0.1
    """

    given: Setup
    before: Before | None
    mesh: Mesh
    setup: Setup
    met: tuple[Met, ...]
    stiffness_factor: float
    draws: int
    edits: tuple[Edit, ...] = ()
    step_factor: float = 1.0
    laid: Laid | None = None
    remarks: tuple[str, ...] = ()
    moving_factor: float = 1.0
    shape_factor: float = 1.0
    planes: int = PLANES
    _kept: Memo = field(default_factory=lambda: Memo(KEPT), init=False, repr=False)
    _traced: Memo = field(default_factory=lambda: Memo(KEPT_TRACED), init=False, repr=False)

    @classmethod
    def of(
        cls, bow: Setup | FittedBow, mesh: str | Mesh = "default", changes: Changes = NO_CHANGES, hold: Hold = None,
        planes: int | None = None,
    ) -> FittedBow:  # fmt: skip
        """Fit a setup, once; a bow already fitted is kept, with its own mesh. Then make some changes.

        Parameters
        ----------
        bow : Setup or FittedBow
            A setup that cannot be fitted as it stands is fitted with those changes to its measurements that make it a
            bow; there is then no draw weight to compare with.
        mesh : str or Mesh
        changes, hold
            As for `with_changes`.
        planes : int, optional
            1 or 2. Default: as a bow already fitted has it, else 2. A bow already fitted keeps its limbs.

        Raises
        ------
        SetupError, ShotError
        UsageError
            If `planes` is neither 1 nor 2.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> bow = archerysim.FittedBow.of(setup, "coarse", {"nock.locators.reading": "9 mm"})
        >>> len(bow.edits), bow.planes
        (1, 2)
        >>> archerysim.FittedBow.of(bow) is bow
        True
        """
        count = planes_of(bow, planes)
        if isinstance(bow, FittedBow):
            return (bow if count == bow.planes else bow._with(planes=count)).with_changes(changes, hold)
        words, cells, asked = hold_words(hold), mesh_of(mesh), read(Setup, changes)
        try:
            base = cls._fitted(bow, cells, count)
        except (SetupError, ShotError):
            into = refitted(bow, asked, words)
            if not into:
                raise
            check_held(changes, words)
            new = cls._fitted(changed(bow, into), cells, count)
            edits = (Edit.of(bow, new.given, into, words if words == REFIT else (), True),)
            base = new._with(before=Before(bow, math.nan, bow), edits=edits)
            asked = without(asked, into)
        return base.with_changes(asked, words)

    @classmethod
    def _fitted(cls, bow: Setup, cells: Mesh, planes: int) -> FittedBow:
        done = fit_to_speed(bow, cells, planes)
        new = cls(
            bow, None, cells, done.setup, done.met, done.stiffness_factor, done.draws,
            laid=done.laid, remarks=done.remarks, moving_factor=done.moving_factor, shape_factor=done.shape_factor,
            planes=planes,
        )  # fmt: skip
        new._take(done)
        _ = new.braced  # a bow that cannot be braced is none
        before = Before(bow, new._weight(), bow)
        if turned_since(bow):
            back = replace(new, setup=changed(done.setup, TURNED_BACK))
            as_measured = Before(changed(bow, TURNED_BACK), back._weight(), bow, "as measured")
            before = lightest(as_measured, before)
        return new._with(before=before)

    def _take(self, fitted: Fit) -> None:
        """Keep what the fit has found of the bow already."""
        if fitted.drawing is None or fitted.drawn is None:
            return
        self.__dict__["braced"] = fitted.drawing.braced
        if fitted.drawn.throat_x == full_draw_x(fitted.drawing.setup):
            self.__dict__["statics"] = Statics(fitted.drawing.braced, fitted.drawing, fitted.drawn)

    def _with(self, **changes: Any) -> FittedBow:
        """The same bow, braced and drawn already, told otherwise."""
        new = replace(self, **changes)
        new.__dict__.update({name: self.__dict__[name] for name in FOUND if name in self.__dict__})
        return new

    def _weight(self) -> float:
        """Draw weight at the archer's own draw length [N]; nan where it cannot be drawn so far."""
        try:
            return self.statics.drawn.weight
        except (SetupError, ShotError):
            return math.nan

    def key(self) -> str:
        """Hash of everything that determines the bow: setup, edits, mesh, planes, the bow before.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> bow.key() == archerysim.fit(bow.given).key()
        True
        >>> bow.key() == bow.with_changes({"arrow.point_mass": "100 gr"}).key()
        False
        """
        before = None if self.before is None else (plain(self.before.setup), self.before.words)
        follows_from = (
            plain(self.given),
            plain_edits(self.edits),
            astuple(self.mesh),
            self.step_factor,
            before,
            self.planes,
            self.moving_factor,  # a measured speed is met in the planes of the fit
        )
        return hashlib.sha256(json.dumps(follows_from, sort_keys=True).encode()).hexdigest()[:32]

    def __eq__(self, other: object) -> bool:
        return self.key() == other.key() if isinstance(other, FittedBow) else NotImplemented

    def __hash__(self) -> int:
        return hash(self.key())

    def __repr__(self) -> str:
        changes = f", changed {len(self.edits)} times" if self.edits else ""
        return f"FittedBow({self.setup.name!r}: given as {self.given.form}{changes})"

    def _repr_html_(self) -> str:
        changes = [("changes", str(len(self.edits)))] if self.edits else []
        shot = [("mesh", str(self.mesh)), ("planes", str(self.planes))]
        rows = [("setup", one_line(self.setup.name)), ("given as", self.given.form), *changes, *shot]
        return html_table("FittedBow", rows)

    def __reduce__(self) -> tuple[Any, ...]:
        fields = (
            self.given, self.before, self.mesh, self.setup, self.met, self.stiffness_factor, self.draws, self.edits,
            self.step_factor, self.laid, self.remarks, self.moving_factor, self.shape_factor, self.planes,
        )  # fmt: skip
        return _again, (fields, self.__dict__.get("at_brace"))

    @cached_property  # found when it is first asked for: a changed bow may never be
    def braced(self) -> Braced:
        """The bow braced; may raise SetupError, ShotError."""
        full = filled_as_built(self.setup)
        return brace_with_string(full, full.string.length, self.mesh)

    @cached_property  # found when it is first asked for: a changed bow may never be
    def statics(self) -> Statics:
        """Braced, and drawn as far as the archer draws; may raise SetupError, ShotError."""
        full = filled_as_built(self.setup)
        return Statics(self.braced, *draw_to(full, self.braced, full_draw_x(full)))

    @cached_property  # goes along to workers, which then need not brace the bow for what is held
    def at_brace(self) -> AtBrace:
        """What later changes hold; may raise SetupError, ShotError."""
        return AtBrace(self.braced.throat, self.braced.reading, self.braced.brace_height)

    @property
    def reading(self) -> float:
        """By the underside [m]."""
        return self.at_brace.reading

    @property
    def brace_height(self) -> float:
        """[m]"""
        return self.at_brace.brace_height

    def drawn_to(self, length: Any) -> Statics:
        """The bow drawn to another draw length, as the trade measures it: "28 in", ``(0.7, "m")``.

        Raises
        ------
        SetupError, ShotError

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> bow.drawn_to("27 in").drawn.weight < bow.drawn_to("28 in").drawn.weight
        True
        """
        far = TRADE - in_si("length", length, "in")
        return Statics(self.braced, *draw_to(filled_as_built(self.setup), self.braced, far))

    def draw_curve(self, points: int = 25) -> DrawCurve:
        """The draw-force curve from brace to the archer's full draw, as from `archerysim.draw`.

        Raises
        ------
        SetupError, ShotError

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> curve = bow.draw_curve(5)
        >>> [round(force / 4.44822) for force in curve.force]  # [lb]
        [0, 14, 21, 27, 34]
        """
        return curve_of(self.setup, self.statics.drawing, self.statics.drawn, points, self.before, self.edits)

    def home(self, path: str, hold: Hold = None) -> Setup:
        """The setup that a change at a path goes into: the given one where the bow is fitted anew, else as built.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> bow.home("arrow.point_mass") is bow.setup, bow.home("bow.brace_height") is bow.given
        (True, True)
        """
        return self.given if self.refits((path,), hold) else self.setup

    def refits(self, paths: Iterable[str], hold: Hold = None) -> tuple[str, ...]:
        """Those of some paths whose change means fitting the bow anew: all with hold "refit", else what is measured.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> bow.refits(["arrow.point_mass", "bow.brace_height"])
        ('bow.brace_height',)
        """
        return tuple(refitted(self.given, InSi(dict.fromkeys(paths)), hold_words(hold)))

    def with_changes(self, changes: Changes, hold: Hold = None) -> FittedBow:
        """The bow with some changes made together, holding what is to be held; it is braced when that is first needed.

        Changes are made to the bow as built. Changes to what is measured on the bow go into the given setup instead:
        the bow is fitted anew, and the other changes, earlier ones first, are made to the new bow. A reading among the
        changes follows the setup's convention, unless that is changed with it. A reading that is held is the number
        that the square shows by that convention, even with a nock of another height.

        Parameters
        ----------
        changes : mapping of path to value
            As `Setup.replace` takes them: with units, or `archerysim.with_si`.
        hold : str or tuple of str, optional
            "reading", "brace height" or both, as they are on this bow; or "refit": all changes go into the given setup.

        Raises
        ------
        SetupError, ShotError

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> turned = bow.with_changes({"lower_limb.bolt_turns": "1/2 turn"}, hold="reading")
        >>> turned.edits[0].hold, turned.edits[0].refitted
        (('reading',), False)
        >>> round(1000 * turned.reading, 2)  # [mm], as before
        8.0
        """
        words = hold_words(hold)
        if not changes:
            return self
        asked = read(Setup, changes)
        check_held(asked, words)
        into = refitted(self.given, asked, words)
        bow = self._fitted_anew(into, words) if into else self
        others = without(asked, into)
        return bow._changed(others, words, self) if others or (words and words != REFIT) else bow

    def _fitted_anew(self, changes: InSi, words: tuple[str, ...]) -> FittedBow:
        """The bow fitted with some changes in the file, earlier changes of it as built made once more."""
        new = FittedBow._fitted(changed(self.given, changes), self.mesh, self.planes)
        first = tuple(earlier for earlier in self.edits if earlier.refitted)
        edit = Edit.of(self.given, new.given, changes, words if words == REFIT else (), True)
        new = new._with(before=self.before, step_factor=self.step_factor, edits=(*first, edit))
        for earlier in self.edits:
            if not earlier.refitted:
                new = new._changed(with_si(earlier.changes), earlier.hold, new)
        return new

    def _changed(self, changes: InSi, words: tuple[str, ...], then: FittedBow) -> FittedBow:
        """The bow as built with some changes, holding what was on ``then``."""
        setup = self.setup
        if setup.nock.locators.place is None:
            setup = changed(setup, InSi({"nock.locators.place": self.at_brace.place}))
        tied = setup
        setup = changed(tied, changes)
        if "reading" in words and not any(path in PLACE for path in changes):
            setup = changed(setup, by_underside(self.setup, then.reading))
        if "brace height" in words:
            braced = brace_to_height(filled_as_built(setup), then.brace_height, self.mesh)
            setup = changed(setup, InSi({"string.length": braced.string_length}))
        edit = Edit.of(tied, setup, changes, words, False, self.given)
        return replace(self, setup=setup, edits=(*self.edits, edit))

    def launch(self, changes: Changes = NO_CHANGES, hold: Hold = None, *, trace: bool = False) -> Launch:
        """A shot of the bow with some changes, as by `with_changes`; the latest shots are kept, failures too.

        Raises
        ------
        SetupError, ShotError

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> heavier = bow.launch({"arrow.point_mass": "120 gr"})
        >>> heavier.clear.speed < bow.launch().clear.speed
        True
        >>> bow.launch() is bow.launch()  # shot once
        True
        """
        memo, words = self._traced if trace else self._kept, hold_words(hold)
        asked = read(Setup, changes)
        key = pickle.dumps((tuple(asked.items()), words))
        result = memo.get(key)
        if result is None:
            try:
                result = self.with_changes(asked, words)._shot(trace)
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

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> [bow.at_reading(reading).clear.pitch > 0 for reading in ("5 mm", "11 mm")]  # nose up?
        [True, False]
        """
        return self.launch(by_underside(self.setup, in_si("reading", reading, "mm")))

    def _shot(self, trace: bool) -> Launch:
        check_support(self.setup, self.planes)
        return shoot_drawn(
            self.setup, self.statics.drawing, self.statics.drawn, trace=trace, step_factor=self.step_factor,
            before=self.before, edits=self.edits, planes=self.planes,
        )  # fmt: skip


FOUND = ("braced", "statics", "at_brace")  # what a bow keeps once it has been found


def _again(fields: tuple[Any, ...], at_brace: AtBrace | None) -> FittedBow:
    """A bow out of what is sent to a worker."""
    new = FittedBow(*fields)
    if at_brace is not None:
        new.__dict__["at_brace"] = at_brace
    return new
