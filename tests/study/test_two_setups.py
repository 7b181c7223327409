"""Two setups compared: the differences make the one of the other, their effects add up, and the order matters."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError, filled
from archerysim.study.tuning.together import together_reading
from archerysim.study.two_setups.compare import NAMES, compare
from archerysim.study.two_setups.differences import differences, with_differences
from tests.support.shot.example_bows import NAMES as EXAMPLES
from tests.support.shot.example_bows import built, measured


@pytest.mark.parametrize("before", EXAMPLES)
@pytest.mark.parametrize("after", EXAMPLES)
def test_all_differences_make_the_one_of_the_other(before: str, after: str) -> None:
    """Filled, since what the one gives and the other takes as usual is no difference."""
    found = differences(measured(before), measured(after))
    made, wanted = filled(with_differences(measured(before), found)), filled(measured(after))
    for record in ("bow", "upper_limb", "lower_limb", "riser", "string", "nock", "rest", "side", "arrow", "archer"):
        assert getattr(made, record) == getattr(wanted, record), record
    assert (not found) == (before == after)


def test_what_hangs_together_is_one_change() -> None:
    before = measured("club-outdoor")
    after = before.replace({
        "string.material": "polyester", "string.strands": 14, "bow.upper_tiller": "193 mm",
        "bow.lower_tiller": "191 mm", "limbs.mass": "150 g", "upper_limb.tip_mass": "4 g",
    })  # fmt: skip
    assert [one.name for one in differences(before, after)] == [
        "bow.upper_tiller", "limbs.mass", "upper_limb.tip_mass", "string.material",
    ]  # fmt: skip
    assert differences(before, before.replace({"name": "other", "limits.longest_draw": "29 in"})) == ()
    assert differences(before, before.replace({"archer.crawl": "0 mm"})) == ()  # as is usual


def test_the_steps_add_up_and_the_ends_are_the_setups_own() -> None:
    before = measured("club-outdoor")
    after = before.replace({"arrow.point_mass": "110 gr", "arrow.spine": 0.65, "bow.brace_height": "215 mm"})
    found = compare(before, after, mesh="coarse")
    assert found.changes == ("bow.brace_height", "arrow.spine", "arrow.point_mass")
    assert found.at[0] + found.steps.sum(axis=0) == pytest.approx(found.at[-1])
    best = found.answer("together_reading")
    assert found.at[-1, best] == pytest.approx(together_reading(after, "coarse").reading, abs=1e-6)
    assert found.steps[0] == pytest.approx(found.first[0])  # the first of all is made first
    assert found.steps[-1] == pytest.approx(found.last[-1])
    brace = found.answer("brace_height")
    assert found.steps[:, brace] == pytest.approx((-5.0, 0.0, 0.0), abs=1e-6)
    both = before.replace({"arrow.point_mass": "110 gr", "bow.brace_height": "215 mm"})
    alone = together_reading(both, "coarse").reading
    assert found.last[1, best] == pytest.approx(found.at[-1, best] - alone, abs=1e-6)
    table = found.to_xarray()
    assert table["speed"].values == pytest.approx(found.at[:, found.answer("speed")])
    assert table["speed_first"].dims == ("change",)
    assert set(NAMES) <= set(table.data_vars)


def test_a_setup_between_that_cannot_be_is_left_out_with_its_reason() -> None:
    before = measured("club-outdoor")
    after = before.replace({"archer.draw_length": "31 in", "arrow.length": "31.5 in"})
    found = compare(before, after, mesh="coarse")
    assert np.isfinite(found.at[[0, -1]]).all()
    assert np.isnan(found.first[found.changes.index("archer.draw_length")]).all()
    assert "draw" in " ".join(found.reasons.values())


def test_measured_beside_built_is_refused() -> None:
    with pytest.raises(SetupError, match="Compare two of one form"):
        compare(measured("club-outdoor"), built("club-outdoor"))
