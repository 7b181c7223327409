"""What the hand feels: what it holds at full draw, its work, frequencies that are known, a bow without rods."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import archerysim
from archerysim import AfterShot
from archerysim.mechanics.arrays import Frame
from archerysim.shot.after_shot import frequencies, modes_of

CLUB = archerysim.load("examples/club-outdoor.toml")


@cache
def felt(*, rods: bool = True) -> AfterShot:
    changes = {} if rods else {"riser.rods": None}
    return archerysim.after_shot(CLUB, changes=changes, mesh="coarse", planes=1)


def test_at_full_draw_the_hand_bears_the_draw_weight() -> None:
    """Balance of forces: bow and arrow do not move; fingers pull back, the hand pushes forward, as much."""
    found = felt()
    assert -found.force[0, 0] == pytest.approx(found.launch.draw_force, rel=0.05)  # their pull points up a little


def test_the_hand_takes_what_the_account_of_the_shot_says_until_clear() -> None:
    found = felt()
    account = found.launch.clear.energy
    until = float(np.interp(found.launch.clear.time, found.time, found.taken))
    assert until == pytest.approx(account.lost_hand, rel=0.03)
    assert (np.diff(found.taken) >= 0.0).all()
    assert found.taken[-1] > until
    assert found.taken[-1] < found.launch.stored_energy - account.arrow_translation


def test_it_runs_on_after_the_same_shot() -> None:
    """The riser stands at clear where the shot to clear has it."""
    found = felt()
    launch = archerysim.FittedBow.of(CLUB, "coarse", planes=1).launch(trace=True)
    assert launch.trace is not None
    frame, hand = launch.braced.frame, found.force[0, 0]
    k = int(np.searchsorted(found.time, launch.trace.time[-1])) - 2
    rate = np.gradient(launch.trace.riser_x, launch.trace.time)
    here = hand + frame.hand_stiffness * launch.trace.riser_x + frame.hand_damping * rate
    assert found.force[0, k] == pytest.approx(np.interp(found.time[k], launch.trace.time, here), rel=0.01, abs=0.5)
    assert found.time[-1] > launch.clear.time + 0.1


def test_frequencies_that_are_known() -> None:
    time = np.arange(4000) * 4e-5
    values = 3.0 + 40.0 * time + 2.0 * np.sin(2 * np.pi * 60 * time) + 0.7 * np.cos(2 * np.pi * 210 * time)
    (one, size), (other, small) = frequencies(time, values)[:2]
    assert (one, other) == (pytest.approx(60.0, abs=1.0), pytest.approx(210.0, abs=1.0))
    assert (size, small) == (pytest.approx(2.0, rel=0.05), pytest.approx(0.7, rel=0.05))


def test_a_riser_held_at_its_mass_centre_swings_as_the_textbook_says() -> None:
    """sqrt(k / m) / 2 pi, c / (2 sqrt(k m)): of a mass on a spring with a damper."""
    frame = Frame(2.0, 0.05, 0.0, 0.0, np.zeros((4, 2)), 8000.0, 60.0, 5.0, 0.3)
    found = modes_of(frame)
    turn, push = np.sqrt(5.0 / 0.05) / (2 * np.pi), np.sqrt(8000.0 / 2.0) / (2 * np.pi)
    assert found[:, 0] == pytest.approx([turn, push, push])
    assert found[:, 1] == pytest.approx([0.3 / (2 * np.sqrt(5.0 * 0.05)), *[60.0 / (2 * np.sqrt(16000.0))] * 2])


def test_rods_add_a_mode_each_and_a_heavier_bow_turns_less() -> None:
    with_rods, without = felt(), felt(rods=False)
    assert len(with_rods.modes) == len(without.modes) + 1
    assert with_rods.largest_torque < without.largest_torque


def test_through_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archerysim.cli.main import main

    picture = tmp_path / "felt.png"
    assert main(["after-shot", "examples/club-outdoor.toml", "--mesh", "coarse", "--planes", "1",
                 "--plot", str(picture)]) == 0  # fmt: skip
    out = capsys.readouterr().out
    assert "The hand takes" in out
    assert "Not in it: a hand that opens or grips, a sling" in out
    assert picture.stat().st_size > 20_000
