"""What measuring each guess would narrow."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment.first_setup.interview import first_setup
from archerysim.study.tuning.together import together_reading
from archerysim.study.uncertainty.measure_next import NINETY, measure_next


def test_each_guess_measured_narrows_and_all_of_them_reach_the_end() -> None:
    made = first_setup(kind="club recurve")
    found = measure_next(made.setup, made.assumed, mesh="coarse", workers=1)
    known = np.array([found.today, *found.then])
    assert np.all(np.diff(known) <= 1e-9)
    assert known[-1] == found.measured
    gains = -np.diff(known**2)
    assert np.all(np.diff(gains) <= 1e-9)  # the one that narrows most is the first
    table = found.to_xarray()
    assert table["then"].attrs["units"] == "mm"
    assert table["guess"].values[0] == found.guessed[0]


def test_the_share_of_one_guess_is_what_it_does_to_both_sides() -> None:
    made = first_setup(kind="club recurve")
    alone = measure_next(made.setup, ("bow.draw_weight",), mesh="coarse", workers=1)
    middle, *sides = (
        together_reading(made.setup.replace({"bow.draw_weight": weight}), "coarse").reading
        for weight in ("30 lb", "34 lb", "26 lb")
    )
    square = np.mean([(one - middle) ** 2 for one in sides])
    left = (0.25 / 4.0) ** 2  # of the variance, once it is on a scale
    assert alone.today**2 - alone.measured**2 == pytest.approx(NINETY**2 * square * (1.0 - left), rel=0.02)


def test_nothing_guessed_narrows_nothing() -> None:
    found = measure_next(first_setup(kind="junior").setup, (), mesh="coarse", workers=1)
    assert found.today == found.measured > 0.5
    assert found.guessed == ()
