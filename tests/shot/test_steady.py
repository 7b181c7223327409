"""A step that is short enough all the way, not at full draw only; and what happens where it is not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from archerysim.errors import ShotError
from archerysim.shot import from_full_draw
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.release import release as loose
from archerysim.shot.shoot import shoot
from archerysim.status import UNSTEADY
from tests.support.shot.example_bows import built, shot

CASES: list[tuple[str, str, dict[str, Any]]] = [
    ("junior", "default", {"nock.locators.loss": "200 N s/m"}),
    ("junior", "coarse", {"nock.locators.loss": "50 N s/m", "nock.depth": "15 mm"}),
    ("club-outdoor", "fine", {"nock.locators.loss": "100 N s/m"}),
]


@pytest.mark.parametrize(("name", "mesh", "changes"), CASES)
def test_a_large_loss_of_the_locators(name: str, mesh: str, changes: dict[str, Any]) -> None:
    """When the string leaves, the locators' loss has an arm about the tail and asks for a shorter step."""
    bow = built(name).replace(**changes)
    done, finer = (replace(FittedBow.of(bow, mesh), step_factor=factor).launch() for factor in (1.0, 1.0 / 3.0))
    assert abs(done.clear.energy.residual) < 1e-4 * done.clear.energy.stored
    assert done.clear.angle_of_attack == pytest.approx(finer.clear.angle_of_attack, abs=1e-3)
    assert done.clear.speed == pytest.approx(finer.clear.speed, rel=1e-5)
    assert finer.steps == pytest.approx(3 * done.steps, rel=1e-3)


def test_a_step_that_is_too_long_is_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    right = shot("club-outdoor")
    monkeypatch.setattr(loose, "SAFE", 1.2)
    monkeypatch.setattr(loose, "LONGEST", 1.0)
    again = shoot(built("club-outdoor"), "default", trace=False)
    assert again.step == pytest.approx(0.6 / 0.95 * right.step)
    assert again.clear.angle_of_attack == pytest.approx(right.clear.angle_of_attack, abs=1e-4)


def test_no_step_short_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(from_full_draw, "STEADY", 1e-9)
    monkeypatch.setattr(from_full_draw, "HALVINGS", 1)
    with pytest.raises(ShotError, match="to conserve the energy") as caught:
        shoot(built("junior"), "coarse", trace=False)
    assert caught.value.status == UNSTEADY
