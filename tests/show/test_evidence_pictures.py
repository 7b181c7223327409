"""The energy over time and the sensitivities, as drawn."""

from __future__ import annotations

import numpy as np
import pytest
import xarray

from archerysim.shot.launch import energy_history
from archerysim.show.shots.energy import LAYERS, energy
from archerysim.show.uncertainty.plot import tornado
from tests.support.shot.example_bows import shot, traced
from tests.support.show.legible_pictures import assert_legible


def test_energy_closes_at_every_instant() -> None:
    launch = traced("club-outdoor")
    time, accounts = energy_history(launch)
    assert np.all(np.diff(time) > 0.0)
    assert max(abs(one.residual) for one in accounts) < 1e-3 * launch.stored_energy
    assert accounts[0].limbs + accounts[0].string == pytest.approx(launch.stored_energy, rel=1e-6)


def test_energy_is_stacked_to_the_stored_energy() -> None:
    launch = traced("club-outdoor")
    ax = energy(launch)
    assert [part.get_gid() for part in ax.collections] == [label for label, *_ in LAYERS]
    top = ax.collections[-1].get_paths()[0].vertices[:, 1].max()
    assert top == pytest.approx(launch.stored_energy, rel=2e-3)
    assert "[J]" in ax.get_ylabel()
    assert "[ms]" in ax.get_xlabel()


def test_energy_needs_traces() -> None:
    with pytest.raises(ValueError, match="no trace"):
        energy(shot("club-outdoor"))


LONG = "reading by the underside that brings bare and fletched together at 18 m"  # as sensitivity names it


def test_tornado_ranks_and_leaves_out_what_failed() -> None:
    found = xarray.Dataset(
        {
            "together_reading": ((), 4.6, {"units": "mm", "long_name": LONG}),
            "together_reading_per_spread": ("input", [0.1, -0.5, np.nan, 0.2]),
            "zero_attack_reading": ((), 6.7, {"units": "mm", "long_name": "reading of zero attack"}),
            "zero_attack_reading_per_spread": ("input", [0.6, -0.5, np.nan, 0.2]),
            "pitch": ((), 0.1, {"units": "degree", "long_name": "pitch at clear"}),
            "pitch_per_spread": ("input", [0.1, -0.5, np.nan, 0.2]),
            "spread": ("input", [1.0, 0.5, 1.0, 2.0]),
            "unit": ("input", np.array(["deg", "mm", "g", "1"], dtype=object)),
        },
        {"input": ["nock.slope", "rest.height", "limbs.mass", "archer.finger_shares.0"]},
    )
    ax = tornado(found)
    names = [label.get_text() for label in ax.get_yticklabels()]
    assert [name.split()[0] for name in names] == ["rest.height", "archer.finger", "nock.slope"]
    widths = [bar.get_width() for bar in ax.patches]
    assert widths[:2] == [-0.5, 0.5]
    assert " ".join(ax.get_xlabel().split()) == f"change of the {LONG} [mm]"
    assert_legible(ax.figure)
    other = tornado(found, "zero_attack_reading")
    assert other.get_yticklabels()[0].get_text().split()[0] == "nock.slope"
    assert tornado(found, "pitch").get_xlabel().endswith("[deg]")
