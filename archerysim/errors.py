"""What the library raises: one family, each with what is wrong and what to do about it."""

from __future__ import annotations

import os

from archerysim import status

LONGEST = 400  # letters of one part of a message
SHORT_ARROW = 101  # statuses from 101 on are found outside of the kernels
TWO_BOWS = 102
LOST_FLIGHT = 103

REMEDY = {
    SHORT_ARROW: (
        "the shaft does not reach the rest at full draw; never draw an arrow off its rest: lengthen the arrow or "
        "shorten the draw"
    ),
    TWO_BOWS: (
        "braced again with the string that was found, it is not the bow that was measured: there is more than one "
        "equilibrium; check tillers, brace height, pocket angle and the limbs' curvature"
    ),
    LOST_FLIGHT: (
        "the arrow tumbles so wildly that its flight cannot be followed; check the units of the arrow's masses, "
        "lengths and diameter"
    ),
    status.UNSTABLE: (
        "this bow would not stay like that: its limbs would tip, one forward and one back; check natural_curvature, "
        "pocket angles and both limbs' stiffness"
    ),
    status.LIES_TOO_FAR: (
        "the string lies along more of a limb than the length of its end cell; check natural_curvature, pocket angle "
        "and brace height"
    ),
    status.NO_CONVERGENCE: "no equilibrium was found; check lengths, stiffness and draw length against each other",
    status.SINGULAR: "the bow has no stable shape there (a slack string or a buckled part); check its stiffness",
    status.NOT_FINITE: "the solution did not converge; check the units of masses, lengths and stiffness",
    status.SLACK_STRING: "the string is slack; shorten string.length or raise the brace height",
    status.UNSTEADY: (
        "no time step was short enough to conserve the energy; check the units of stiffness and loss of nock, "
        "locators, rest and string"
    ),
    status.TIME_CAP: "the arrow was not clear in the time allowed; check the draw force and the arrow's mass",
    status.OFF_REST: (
        "at full draw the string's bend lifts the arrow off the rest; move load from one finger to the others"
    ),
}


class ArcherysimError(Exception):
    """Base of the errors that the library raises.

    Attributes
    ----------
    problem : str
        What is wrong.
    remedy : str
        What to do about it; may be empty.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> try:
    ...     archerysim.shoot(setup, changes={"arrow.point_mass": "90 kg"})
    ... except archerysim.ArcherysimError as refused:  # any of its kinds
    ...     print(type(refused).__name__, refused.remedy, sep=": ")
    SetupError: Check the number and its unit
    """

    problem: str
    remedy: str


class SetupError(ArcherysimError, ValueError):
    """A value or a combination of values in a setup, or an argument, that cannot be used.

    Parameters
    ----------
    path : str
        Dotted path of the field, for example ``"nock.locators.reading"``.
    problem : str
        What is wrong: the value with its unit and, where there is one, the allowed range.
    remedy : str
        What to do about it.

    Notes
    -----
    The message is one line: ``path: problem. remedy.``

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> try:
    ...     setup.replace({"nock.locators.reading": "80 mm"})
    ... except archerysim.SetupError as problem:
    ...     print(problem)
    nock.locators.reading: "80 mm" is outside the allowed range -30 mm to 60 mm. Check
    the number and its unit.
    """

    def __init__(self, path: str, problem: str, remedy: str = "") -> None:
        super().__init__(path, problem, remedy)
        self.path = path
        self.problem = problem
        self.remedy = remedy

    def __str__(self) -> str:
        parts = [_short(part.strip().rstrip(".")) for part in (self.problem, self.remedy) if part]
        sentence = " ".join(part if part.endswith("?") else f"{part}." for part in parts)
        line = f"{_short(self.path)}: {sentence}" if self.path else sentence
        return printable(" ".join(line.split()))


class ShotError(ArcherysimError, RuntimeError):
    """A shot that cannot be computed.

    Attributes
    ----------
    stage : str
        "brace", "draw", "release", ...
    status : int
        The kernel's status.
    detail : str
        Where or how far.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> try:
    ...     archerysim.shoot(setup, changes={"arrow.length": "20 in"})
    ... except archerysim.ShotError as failed:
    ...     print(failed)
    draw: the shaft does not reach the rest at full draw; never draw an arrow off its
    rest: lengthen the arrow or shorten the draw (159 mm too short)
    """

    def __init__(self, stage: str, code: int, detail: str = "") -> None:
        super().__init__(stage, code, detail)
        self.stage = stage
        self.status = code
        self.detail = detail
        reason = REMEDY.get(code, "it failed for an unknown reason")
        self.problem, _, self.remedy = (part.strip() for part in reason.partition(";"))

    def __str__(self) -> str:
        reason = f"{self.problem}; {self.remedy}" if self.remedy else self.problem
        return f"{self.stage}: {reason}" + (f" ({self.detail})" if self.detail else "")


class StoreError(ArcherysimError, ValueError):
    """A store that cannot be used; its file is left as it is.

    Parameters
    ----------
    path : str or path
        The store's file.
    problem, remedy : str

    Examples
    --------
    >>> import archerysim
    >>> archerysim.open_store("examples/club-outdoor.toml")
    Traceback (most recent call last):
        ...
    archerysim.errors.StoreError: store: examples/club-outdoor.toml is not a store. Name
    a store, or a file that is not there yet, for example runs.sqlite.
    """

    def __init__(self, path: str | os.PathLike[str], problem: str, remedy: str) -> None:
        super().__init__(path, problem, remedy)
        self.path = path
        self.problem = problem
        self.remedy = remedy

    def __str__(self) -> str:
        return printable(f"store: {os.fsdecode(self.path) or repr(self.path)} {self.problem}. {self.remedy}.")


class UsageError(ArcherysimError, ValueError, TypeError):
    """A call that makes no sense: an argument of the wrong kind, or arguments that do not go together.

    Parameters
    ----------
    argument : str
        Its name.
    problem, remedy : str

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> archerysim.shoot(setup, "very fine")
    Traceback (most recent call last):
        ...
    archerysim.errors.UsageError: mesh: 'very fine' is not known; use one of coarse,
    default, fine or a Mesh(...)
    """

    def __init__(self, argument: str, problem: str, remedy: str) -> None:
        super().__init__(argument, problem, remedy)
        self.argument = argument
        self.problem = problem
        self.remedy = remedy

    def __str__(self) -> str:
        return printable(f"{self.argument}: {self.problem}; {self.remedy}")


def printable(text: str) -> str:
    """The text with letters that do not show, or that steer a terminal, written as their numbers."""
    return text if text.isprintable() else "".join(one if one.isprintable() else ascii(one)[1:-1] for one in text)


def _short(text: str) -> str:
    """The text, without its middle where it is too long to read."""
    return text if len(text) <= LONGEST else f"{text[: LONGEST // 2]} ... {text[-LONGEST // 2 :]}"
