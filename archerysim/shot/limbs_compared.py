"""Both limbs beside each other: each one's share of the work of drawing, when each comes home, what the riser gets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.mechanics.arrays import Marks
from archerysim.mechanics.forces.chain import chain_energy
from archerysim.shot.launch import Launch
from archerysim.shot.trace import Trace


@result("upper_work", "lower_work", "upper_home_at", "lower_home_at")
@dataclass(frozen=True)
class LimbsCompared:
    """What each limb does in one shot.

    Attributes
    ----------
    upper_work, lower_work : float
        Elastic energy that each limb takes up from brace to full draw [J].
    upper_home_at, lower_home_at : float
        When its tip first comes back to where it stood at brace, seen from the limb's own root, after the release
        begins [s]; nan where it does not before the arrow is clear.
    riser_impulse : float
        Forward momentum of the riser, its rods and the limbs' butts as the arrow is clear, along the riser's x at full
        draw [N s]: what limbs and string have pushed it, less what the hand has taken until then.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.fit(archerysim.load("examples/junior.toml"), mesh="coarse")
    >>> found = archerysim.limbs_compared(bow.launch(trace=True))
    >>> found.upper_home_at > found.lower_home_at  # the lower limb, which bends less, is home first
    True
    """

    upper_work: Annotated[float, Reported("J", "work of drawing that the upper limb takes up")]
    lower_work: Annotated[float, Reported("J", "work of drawing that the lower limb takes up")]
    upper_home_at: Annotated[float, Reported("s", "when the upper limb's tip is back where it stood at brace")]
    lower_home_at: Annotated[float, Reported("s", "when the lower limb's tip is back where it stood at brace")]

    riser_impulse: Annotated[float, Reported("N s", "forward momentum of the riser with rods and butts at clear")]

    @property
    def upper_share(self) -> float:
        """The upper limb's share of what both take up."""
        return self.upper_work / (self.upper_work + self.lower_work)

    @property
    def lower_ahead(self) -> float:
        """By how much the lower limb is home before the upper one [s]; negative where it is later."""
        return self.upper_home_at - self.lower_home_at


def limbs_compared(launch: Launch) -> LimbsCompared:
    """Each limb's share of the work and the time at which it comes home.

    Parameters
    ----------
    launch : Launch
        Shot with ``trace=True``.

    Raises
    ------
    UsageError
        If it has no trace.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
    >>> found = archerysim.limbs_compared(bow.launch(trace=True))
    >>> 0.4 < found.upper_share < 0.6
    True
    """
    trace, braced, drawn, m = launch.traced(), launch.braced, launch.drawn, launch.braced.marks
    work = [
        sum(chain_energy(braced.chain, drawn.x, drawn.y, *ends))
        - sum(chain_energy(braced.chain, braced.x, braced.y, *ends))
        for ends in ((m.root_u - 1, m.tip_u), (m.tip_l, m.root_l + 1))
    ]
    time, x, y = trace.frame_time, trace.frame_x, trace.frame_y
    home = [
        _first_at(time, ahead_of_root(m, x, y, name), float(ahead_of_root(m, braced.x[None], braced.y[None], name)[0]))
        for name in ("upper", "lower")
    ]
    return LimbsCompared(float(work[0]), float(work[1]), home[0], home[1], _impulse(launch, trace))


def _impulse(launch: Launch, trace: Trace) -> float:
    """Momentum of the riser's mass centre at the end of the trace, along its x at full draw [N s]."""
    frame = launch.braced.frame
    turn = np.radians(trace.riser_pitch[-2:])
    forward = trace.riser_x[-2:] + frame.cx * np.cos(turn) - frame.cy * np.sin(turn)
    return float(frame.mass * np.diff(forward)[0] / np.diff(trace.time[-2:])[0])


def ahead_of_root(marks: Marks, x: np.ndarray, y: np.ndarray, name: str) -> np.ndarray:
    """How far a limb's tip stands before the line on from its root, at each of some instants (k,) [m]."""
    behind, root, tip = (
        (marks.root_u - 1, marks.root_u, marks.tip_u)
        if name == "upper"
        else (marks.root_l + 1, marks.root_l, marks.tip_l)
    )
    along_x, along_y = x[:, root] - x[:, behind], y[:, root] - y[:, behind]
    size = np.hypot(along_x, along_y)
    across = ((x[:, tip] - x[:, root]) * along_y - (y[:, tip] - y[:, root]) * along_x) / size
    return np.asarray(across if name == "upper" else -across)


def _first_at(time: np.ndarray, values: np.ndarray, wanted: float) -> float:
    """When values that rise first reach one, on a straight line between instants; nan where they do not."""
    reached = np.flatnonzero(values >= wanted)
    if not reached.size or reached[0] == 0:
        return float("nan")
    k = int(reached[0])
    share = (wanted - values[k - 1]) / (values[k] - values[k - 1])
    return float(time[k - 1] + share * (time[k] - time[k - 1]))
