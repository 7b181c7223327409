"""The questions of one bow: fitted, braced, drawn, shot, and how its limbs are strained.

A setup file is fitted as it stands. Changes are made to the bow as built, which keeps what it was fitted to, its
limbs above all; those of what is measured on the bow go into the file, and the bow is fitted anew
(`archerysim.FittedBow.with_changes`).
"""

from __future__ import annotations

from archerysim.equipment import NO_CHANGES, Setup, filled
from archerysim.fields.given import whole_number
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.draw_curve import MOST_POINTS, DrawCurve
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.statics.brace import Braced
from archerysim.shot.statics.strain import Strained, strained


def fit(bow: Setup | FittedBow, mesh: str | Mesh = "default", planes: int | None = None) -> FittedBow:
    """Find the bow as built that has the measured brace height, tillers and draw weight, and arrow speed if given.

    Bolt turns in the setup are turns since the bow was measured: it is fitted without them, and the bolts are then
    turned.

    Parameters
    ----------
    bow : Setup or FittedBow
        Of form "measured". One of form "built" is taken as it is; a bow already fitted is returned.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`. The stiffness found depends on the mesh by some 0.05 %.
    planes : int, optional
        In how many planes it then shoots; see `shoot`. The fit depends on it only where ``bow.arrow_speed`` is given.

    Returns
    -------
    FittedBow
        Its ``setup`` is the bow as built; ``met`` says how well each measured number is met.

    Raises
    ------
    SetupError
        Where the measured numbers contradict each other.
    ShotError
        Where no such bow is found, or it cannot be braced.
    UsageError
        If it is not a setup, or the mesh is not known.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
    >>> for met in bow.met:
    ...     print(met.words())
    bow.brace_height 220 mm in place of 220 mm
    bow.upper_tiller 195 mm in place of 195 mm
    bow.lower_tiller 190 mm in place of 190 mm
    bow.draw_weight 34 lbf in place of 34 lbf
    """
    return FittedBow.of(bow, mesh, planes=planes)


def brace(
    bow: Setup | FittedBow, mesh: str | Mesh = "default", *, changes: Changes = NO_CHANGES, hold: Hold = None
) -> Braced:
    """The braced bow with the arrow on its string.

    Parameters
    ----------
    bow : Setup or FittedBow
        Measured (then fitted first) or built.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`.
    changes, hold
        As for `shoot`.

    Returns
    -------
    Braced

    Raises
    ------
    SetupError, ShotError

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> braced = archerysim.brace(setup)
    >>> twisted = archerysim.brace(setup, changes={"bow.brace_height": "225 mm"})
    >>> twisted.string_length < braced.string_length
    True
    """
    return FittedBow.of(bow, mesh, changes, hold).braced


def draw(
    bow: Setup | FittedBow,
    points: int = 25,
    mesh: str | Mesh = "default",
    *,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> DrawCurve:
    """The draw-force curve from brace to the archer's full draw.

    Parameters
    ----------
    bow : Setup or FittedBow
    points : int
        Equilibria, brace and full draw included.
    mesh : str or Mesh
    changes, hold
        As for `shoot`.

    Raises
    ------
    SetupError, ShotError

    Examples
    --------
    >>> import archerysim
    >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"), points=4)
    >>> (curve.draw_length / 0.0254).round(1)  # [in]
    array([10.4, 16.3, 22.1, 28. ])
    >>> (curve.force / 4.44822).round()  # [lb]
    array([ 0., 17., 25., 34.])
    """
    whole_number("points", points, "a number of points", 2, MOST_POINTS)
    return FittedBow.of(bow, mesh, changes, hold).draw_curve(points)


def shoot(
    bow: Setup | FittedBow,
    mesh: str | Mesh = "default",
    *,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    trace: bool = True,
    planes: int | None = None,
) -> Launch:
    """Loose one arrow.

    Parameters
    ----------
    bow : Setup or FittedBow
        Measured (then fitted first) or built. If its bolts have been turned since it was measured, more draw weight
        than was measured carries its caution.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`.
    changes : mapping of dotted path to value, optional
        Made to the bow as built: its limbs, its string and the locators' place stay as the fit found them. Changes to
        what is measured on the bow (tillers, brace height, draw weight, arrow speed, pocket angle, stiffness ratio) go
        into the given setup instead: the bow is fitted anew, and the other changes are made to the new bow. More draw
        weight than the given bow has, and limbs of another width or thickness, carry their cautions.
    hold : str or tuple of str, optional
        What the changes hold: "reading" (locators set back to the same reading), "brace height" (string twisted again
        to the same brace height), or "refit" (all changes go into the given setup, and the bow is fitted anew).
        Default: nothing else touched.
    trace : bool
        Keep the traces over time and the pictures of all nodes.
    planes : int, optional
        2: the shaft moves sideways too and leaves the rest by itself, so that left and right are known. 1: the shot in
        the bow's plane, in which the rest supports until ``rest.support_travel``. Default: as a bow already fitted has
        it.

    Returns
    -------
    Launch
        Its ``edits`` say what was changed, held and fitted anew.

    Raises
    ------
    SetupError
        Where the setup contradicts itself.
    ShotError
        Where a stage has no solution; the message says what to do.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> launch = archerysim.shoot(setup)
    >>> higher = archerysim.shoot(setup, changes={"nock.locators.reading": "10 mm"})
    >>> round(launch.clear.speed), round(higher.clear.speed)  # [m/s]
    (56, 56)
    >>> round(higher.clear.angle_of_attack - launch.clear.angle_of_attack, 1)  # [deg], the nose goes down
    -0.2
    """
    return FittedBow.of(bow, mesh, changes, hold, planes).launch(trace=trace)


def strain(
    of: Setup | FittedBow | Launch | DrawCurve,
    mesh: str | Mesh = "default",
    *,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> tuple[Strained, Strained]:
    """Where each limb of a bow is strained most, at brace or at full draw.

    Parameters
    ----------
    of : Setup, FittedBow, Launch or DrawCurve
        With a launch or a draw curve: the bow that was shot or drawn.
    mesh, changes, hold
        As for `shoot`; not used for what has been shot or drawn already.

    Returns
    -------
    upper, lower : Strained
        Without a table of width, thickness and modulus there is no number; without a `strain_limit` it is not compared.
        ``unchecked`` says so.

    Examples
    --------
    >>> import archerysim
    >>> upper, lower = archerysim.strain(archerysim.load("examples/longbow.toml"))
    >>> round(100 * upper.largest, 2), upper.side, upper.moment  # [%]
    (0.84, 'belly', 'full draw')
    >>> upper.passed, lower.passed
    (False, False)
    """
    if isinstance(of, Launch):
        return strained(filled(of.setup), of.braced, of.drawn, unlimited=True)
    if isinstance(of, DrawCurve):
        return strained(filled(of.setup), of.braced, of.drawn[-1], unlimited=True)
    bow = FittedBow.of(of, mesh, changes, hold)
    return strained(filled(bow.setup), bow.braced, bow.statics.drawn, unlimited=True)
