"""What the bow hand feels in the shot and after it: force and torque over time, and with what they swing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of, words
from archerysim.mechanics.arrays import Frame
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.release.release import loose

if TYPE_CHECKING:
    import xarray

AFTER = 0.14  # how long the shot runs on after the arrow is clear [s]
FARTHEST = 9.0  # that the arrow may then be away [m]
ROWS = 1500  # of the time to clear
NAMES = ("forward", "up", "turning")
PEAKS, LOWEST, HIGHEST = 3, 6.0, 1500.0  # frequencies told of each; what is looked at [Hz]
SMALLEST = 0.1  # of the largest peak
PADDED = 8  # times the time looked at, so that peaks can be told between two lines


@result("bow.setup.name", "largest_force", "largest_torque", "impulse", "taken", "modes")
@dataclass(frozen=True)
class AfterShot:
    """What the hand feels of a shot: the bow's push on it, beyond what it held at full draw.

    The axes are the riser's at full draw: forward to the target, up, and turning positive nose up.

    Attributes
    ----------
    bow : FittedBow
    launch : Launch
        The same shot to clear.
    time : (k,) array
        After the release begins, on past clear [s].
    force : (2, k) array
        The bow's force on the hand, forward and up; at first that of the held bow [N].
    torque : (k,) array
        The bow's torque on the hand about the pivot [N m].
    impulse : float
        Of the forward force, from the release to the end [N s].
    taken : (k,) array
        Work that the hand has taken for good until then, by its damping [J].
    frequencies : dict of str to list of (float, float)
        Of "forward", "up" and "turning": the strongest after clear, frequency [Hz] and size [N], [N m].
    modes : (m, 2) array
        Frequency [Hz] and share of critical damping of riser, rods and hand alone: their matrices, limbs and string
        left out.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.after_shot(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", planes=1)
    >>> sorted(found.frequencies), bool(found.taken[-1] > 0.0)  # [J]
    (['forward', 'turning', 'up'], True)
    """

    bow: FittedBow
    launch: Launch
    time: Annotated[np.ndarray, Reported("s", "time after the release begins", ("time",))]
    force: Annotated[np.ndarray, Reported("N", "force on the hand: forward, up", ("axis", "time"))]
    torque: Annotated[np.ndarray, Reported("N m", "torque on the hand, positive nose up", ("time",))]
    impulse: Annotated[float, Reported("N s", "of the forward force")]
    taken: Annotated[np.ndarray, Reported("J", "work taken by the hand", ("time",))]
    frequencies: dict[str, list[tuple[float, float]]]
    modes: Annotated[np.ndarray, Reported("Hz")]

    @property
    def warnings(self) -> tuple[str, ...]:
        """Of the shot."""
        return self.launch.warnings

    @property
    def limits_passed(self) -> tuple[str, ...]:
        """Which limits the first of the warnings speak of."""
        return self.launch.limits_passed

    def to_xarray(self) -> xarray.Dataset:
        """Force, torque and work over time as a table with units.

        Examples
        --------
        >>> import archerysim
        >>> felt = archerysim.after_shot(archerysim.load("examples/junior.toml"), mesh="coarse")
        >>> felt.to_xarray().sizes["axis"]
        2
        """
        variables = {**variables_of(self), "axis": words(NAMES[:2], "axis", "forward, up")}
        return dataset(variables, f"what the bow hand feels of {self.bow.setup.name}")

    @property
    def largest_force(self) -> Annotated[float, Reported("N")]:
        """The largest change of the force from full draw, any direction [N]."""
        return float(np.hypot(*(self.force - self.force[:, :1])).max())

    @property
    def largest_torque(self) -> Annotated[float, Reported("N m")]:
        """The largest change of the torque from full draw [N m]."""
        return float(np.abs(self.torque - self.torque[0]).max())


def after_shot(
    bow: Setup | FittedBow,
    *,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
) -> AfterShot:
    """Shoot, let the bow swing on after the arrow is clear, and tell what the hand feels.

    The hand is a spring and a damper at the pivot, forward, up and against turning; what it feels is their force. The
    bow goes on by the same laws as in the shot: limbs, string, riser, rods.

    Parameters
    ----------
    bow : Setup or FittedBow
    changes, hold, mesh, planes
        As for `archerysim.shoot`.

    Returns
    -------
    AfterShot

    Raises
    ------
    SetupError, ShotError

    Notes
    -----
    Not in it: a hand that opens or grips in the shot, a sling, the arm and shoulder behind the hand, rods' swing in
    more than their first shape, screws that rattle, and what the archer hears. Nobody has measured how a hand gives:
    frequencies of riser and rods can be believed more than sizes.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.after_shot(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", planes=1)
    >>> found.force.shape[1] == found.time.size, bool(found.time[-1] > found.launch.clear.time)
    (True, True)
    """
    first = FittedBow.of(bow, mesh, changes, hold, planes)
    launch, statics = first.launch(), first.statics
    run_on = min(AFTER * launch.clear.speed, FARTHEST)
    loosed = loose(
        statics.drawing, statics.drawn, step_factor=first.step_factor, rows=ROWS, planes=first.planes, run_on=run_on
    )
    frame, trace = launch.braced.frame, loosed.trace
    time = trace.time.copy()
    places = np.array([trace.riser_x, trace.riser_y, trace.riser_pitch])
    rates = np.gradient(places, time, axis=1)
    stiffness = np.array([frame.hand_stiffness, frame.hand_stiffness, frame.hand_turn_stiffness])
    damping = np.array([frame.hand_damping, frame.hand_damping, frame.hand_turn_damping])
    felt = -loosed.hand[:, None] + stiffness[:, None] * places + damping[:, None] * rates
    power = damping @ rates**2
    taken = np.append(0.0, np.cumsum(0.5 * (power[1:] + power[:-1]) * np.diff(time)))
    after = time > launch.clear.time
    found = {name: frequencies(time[after], row[after]) for name, row in zip(NAMES, felt, strict=True)}
    impulse = float(np.sum(0.5 * (felt[0, 1:] + felt[0, :-1]) * np.diff(time)))
    return AfterShot(first, launch, time, felt[:2], felt[2], impulse, taken, found, modes_of(frame))


def frequencies(time: np.ndarray, values: np.ndarray) -> list[tuple[float, float]]:
    """The strongest frequencies of what swings: (frequency [Hz], size), the strongest first.

    A straight line is taken off, both ends are faded by a raised cosine, and the peaks of the spectrum are told.

    Parameters
    ----------
    time : (k,) array
        Evenly spaced [s].
    values : (k,) array
    """
    line = np.polynomial.Polynomial.fit(time, values, 1)(time)
    fade = np.hanning(time.size)
    spectrum = np.abs(np.fft.rfft((values - line) * fade, PADDED * time.size)) * 2.0 / fade.sum()
    at = np.fft.rfftfreq(PADDED * time.size, float(time[1] - time[0]))
    middle = spectrum[1:-1]
    tops = 1 + np.flatnonzero((middle > spectrum[:-2]) & (middle >= spectrum[2:]))
    tops = tops[(at[tops] >= LOWEST) & (at[tops] <= HIGHEST)]
    order = tops[np.argsort(-spectrum[tops])][:PEAKS]
    return [(float(at[k]), float(spectrum[k])) for k in order if spectrum[k] > SMALLEST * spectrum[order[0]]]


def modes_of(frame: Frame) -> np.ndarray:
    """Frequencies and damping of riser, rods and hand by their matrices, without limbs and string.

    Returns
    -------
    (m, 2) array
        [Hz] and share of critical damping, in rising order; what does not swing is left out.
    """
    rods = frame.rods
    size = 3 + rods.mass.size
    masses, stiffness, losses = np.zeros((3, size, size))
    masses[range(size), range(size)] = np.concatenate(((frame.mass, frame.mass, frame.inertia), rods.mass))
    masses[:3, 3:] = rods.share * rods.across_x, rods.share * rods.across_y, rods.turning
    masses[3:, :3] = masses[:3, 3:].T
    pivot = np.array([[1.0, 0.0, frame.cy], [0.0, 1.0, -frame.cx]])  # how it moves with mass centre and turn
    for matrix, push, turn, own in (
        (stiffness, frame.hand_stiffness, frame.hand_turn_stiffness, rods.stiffness),
        (losses, frame.hand_damping, frame.hand_turn_damping, rods.loss),
    ):
        matrix[:3, :3] = push * pivot.T @ pivot
        matrix[2, 2] += turn
        matrix[range(3, size), range(3, size)] = own
    inverse = np.linalg.inv(masses)
    upper = np.hstack((np.zeros((size, size)), np.eye(size)))
    roots = np.linalg.eigvals(np.vstack((upper, np.hstack((-inverse @ stiffness, -inverse @ losses)))))
    roots = roots[roots.imag > 1e-6]
    found = np.array([np.abs(roots) / (2.0 * np.pi), -roots.real / np.abs(roots)]).T
    return np.asarray(found[np.argsort(found[:, 0])])
