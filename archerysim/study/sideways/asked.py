"""What is asked of every bow that this one may be: its gap, and the gap with each change."""

from __future__ import annotations

from dataclasses import dataclass

from archerysim.equipment import NO_CHANGES, InSi, SetupError, filled
from archerysim.errors import ShotError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Gap, Leaving, gap_at
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import of_contact
from archerysim.study.run.row import Change, Row
from archerysim.study.sideways.trials import Trial
from archerysim.study.sideways.unsure import bow_with
from archerysim.study.uncertainty.inputs import Input

NAN = float("nan")


@dataclass(frozen=True)
class GapsMoved:
    """Asks for the gap of bare beside fletched, of the bow with some inputs moved: as it is, then with each trial.

    Attributes
    ----------
    inputs : tuple of Input
    trials : tuple of Trial
    distance : float
        Of the target [m].
    leaving : Leaving
        Direction in which the arrow is to leave [deg].
    taped : bool
    """

    inputs: tuple[Input, ...]
    trials: tuple[Trial, ...]
    distance: float
    leaving: Leaving
    taped: bool

    @property
    def shots(self) -> int:
        """How long a point takes, in shots."""
        return 1 + len(self.trials)

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        """Gaps up and sideways [m], whether something touches, and why there is no shot; the bow as it is first."""
        moved = bow_with(bow, self.inputs, change)
        full = filled(moved.setup)
        row: Row = {"height": [], "side": [], "contact": [], "reasons": []}
        for changes in (NO_CHANGES, *(trial.changes(full) for trial in self.trials)):
            height, side, contact, reason = self._gap(moved, changes)
            row["height"].append(height)
            row["side"].append(side)
            row["contact"].append(contact)
            row["reasons"].append(reason)
        return row

    def _gap(self, bow: FittedBow, changes: InSi) -> tuple[float, float, bool, str]:
        try:
            launch = bow.launch(changes)
            gap = self.gap(launch)
        except (SetupError, ShotError) as error:
            return NAN, NAN, False, str(error)
        return gap.height, gap.side, bool(of_contact(launch.warnings)), ""

    def gap(self, launch: Launch) -> Gap:
        """Of a shot [m], its height less what drag and mass alone make.

        Raises
        ------
        SetupError
            If the target is out of the arrow's reach.
        """
        found, plain = (
            gap_at(launch, self.distance, self.leaving, taped=self.taped, lift=lift) for lift in (True, False)
        )
        return Gap(found.height - plain.height, found.side)
