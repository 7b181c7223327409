"""What the library raises: one family, whole again after a way through another process."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xarray

import archerysim
from archerysim import status
from archerysim.errors import SHORT_ARROW, TWO_BOWS
from archerysim.fields.units import UnitError
from archerysim.study.tuning.search import NoShot

FAMILY = [
    archerysim.SetupError("bow.length", "wrong", "Right it"),
    archerysim.SetupError("", "wrong"),
    archerysim.ShotError("brace", status.UNSTABLE),
    archerysim.ShotError("release", status.UNSTEADY, "at 3 ms"),
    archerysim.ShotError("fit", TWO_BOWS, "bow.draw_weight"),
    archerysim.ShotError("draw", SHORT_ARROW),
    archerysim.ShotError("draw", 77),
    archerysim.StoreError("shots.db", "is another table", "Give another file"),
    archerysim.StoreError(Path("shots.db"), "is another table", "Give another file"),
    archerysim.UsageError("mesh", "'thin' is not known", "use one of coarse, default, fine"),
]


@pytest.mark.parametrize("error", [*FAMILY, UnitError("8 apples", "Write 8 mm"), NoShot(FAMILY[2])], ids=repr)
def test_errors_travel_between_processes(error: Exception) -> None:
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert str(again) == str(error)
    known = {name: getattr(again, name) for name in vars(error) if name != "first"}
    assert known == {name: value for name, value in vars(error).items() if name != "first"}


def test_an_interrupted_sweep_travels_too() -> None:
    left = archerysim.Interrupted(xarray.Dataset({"status": ("reading", [0, -2])}), 1, 2)
    again = pickle.loads(pickle.dumps(left))
    assert (str(again), again.done, again.total) == (str(left), 1, 2)
    assert again.data.equals(left.data)


@pytest.mark.parametrize("error", FAMILY, ids=repr)
def test_each_tells_its_problem_and_a_remedy(error: archerysim.ArcherysimError) -> None:
    assert isinstance(error, archerysim.ArcherysimError)
    assert error.problem
    assert error.problem in str(error)
    assert error.remedy in str(error)


@pytest.mark.parametrize("code", [value for name, value in vars(status).items() if name.isupper() and value])
def test_every_status_has_a_remedy(code: int) -> None:
    error = archerysim.ShotError("release", code)
    assert error.status == code
    assert error.remedy


WRONG: dict[str, tuple[Callable[[Any], Any], str]] = {
    "shoot": (lambda a: a.shoot("bow.toml"), "setup: a Setup is needed, not str"),
    "draw": (lambda a: a.draw(None), "setup: a Setup is needed, not NoneType"),
    "brace": (lambda a: a.brace(Path("bow.toml")), "setup: a Setup is needed"),
    "fit": (lambda a: a.fit({}), "setup: a Setup is needed, not dict"),
    "explain": (lambda a: a.explain("bow.toml"), "setup: a Setup is needed, not str"),
    "sweep": (lambda a: a.sweep("bow.toml", {"bow.length": ["68 in"]}), "setup: a Setup is needed, not str"),
    "fly": (lambda a: a.fly("bow.toml", distance="18 m"), "launch: a flight begins with a Launch, not str"),
}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_use_says_what_is_wanted(name: str) -> None:
    call, words = WRONG[name]
    with pytest.raises(archerysim.UsageError, match=words) as caught:
        call(archerysim)
    assert isinstance(caught.value, ValueError)  # code that catches either goes on to
    assert isinstance(caught.value, TypeError)


@pytest.mark.parametrize("mesh", ["thin", None, ["fine"]])
def test_an_unknown_mesh(mesh: Any) -> None:
    from archerysim.shot.arrays.mesh import mesh_of

    with pytest.raises(archerysim.UsageError, match=r"mesh: .* is not known; use one of coarse, default, fine"):
        mesh_of(mesh)
