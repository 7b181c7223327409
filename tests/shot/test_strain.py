"""Strain of the limbs' surfaces against closed forms, equilibrium and itself on finer meshes; what is said of it."""

from __future__ import annotations

import dataclasses
from functools import cache
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim.equipment import Limb, Setup, filled
from archerysim.mechanics.arrays import Marks
from archerysim.shot.arrays.build import limb_cells
from archerysim.shot.arrays.wraps import DRAWN, end_pull, string_line
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import draw, shoot, strain
from archerysim.shot.statics.brace import GRAVITY
from archerysim.shot.statics.fit import fit
from archerysim.shot.statics.strain import NO_LIMIT, NO_TABLE, Strained, limb_strains, warned
from archerysim.shot.warnings import of_strain
from tests.support.mechanics.beams_and_strings import make_chain
from tests.support.shot.example_bows import built, measured

WIDTH, THICKNESS, MODULUS, LENGTH = 0.04, 0.008, 20e9, 0.6
EI, EA = MODULUS * WIDTH * THICKNESS**3 / 12.0, MODULUS * WIDTH * THICKNESS
TABLES = {
    "limbs.at": (0.0, 0.5, 1.0), "limbs.width": ("42 mm", "40 mm", "16 mm"),
    "limbs.thickness": ("9 mm", "7 mm", "5 mm"), "limbs.modulus": "30 GPa",
}  # fmt: skip


@cache
def board(mesh: str = "default", curved: float = 0.0, modulus: str = "30 GPa") -> Setup:
    """The club bow with limbs given by width and thickness, as built."""
    curvature = (0.0, 0.0, curved)
    changes = {**TABLES, "limbs.modulus": modulus, "limbs.natural_curvature": curvature}
    return fit(measured("club-outdoor").with_si(**changes), mesh).setup


@cache
def shot(mesh: str = "default", curved: float = 0.0, limit: float | None = None) -> Launch:
    changes = {} if limit is None else {"limbs.strain_limit": limit}
    return shoot(board(mesh, curved).with_si(**changes), mesh, trace=False)


def straight(cells: int, curvature: float = 0.0, pull: float = 0.0) -> tuple[Any, Any, Any, np.ndarray]:
    """One even limb, alone, bent to a circle towards the archer and pulled along: full, braced, state, places."""
    limb = Limb(
        at=(0.0, 1.0), length=LENGTH, width=(WIDTH, WIDTH), thickness=(THICKNESS, THICKNESS), modulus=MODULUS,
        natural_curvature=(0.0, 0.0), density=700.0, tip_mass=0.0, axial_stiffness=3e6, loss_time=0.0,
    )  # fmt: skip
    parts = limb_cells(limb, cells)
    size = LENGTH / cells
    stretch = np.full(cells + 1, 3e6 / size)
    bend = np.concatenate(([0.0], parts["bend"], [0.0]))
    chain = make_chain(np.ones(cells + 2), stretch, np.full(cells + 1, size), bend)
    longer = 1.0 + pull / 3e6
    s = np.arange(cells + 1) * size * longer
    if curvature:
        x, y = -(1.0 - np.cos(curvature * s)) / curvature, np.sin(curvature * s) / curvature
    else:
        x, y = np.zeros_like(s), s
    # the clamp stands one cell behind the root; its bend has half a cell's compliance
    x, y = np.concatenate(([0.0], x)), np.concatenate(([-size], y))
    full = SimpleNamespace(upper_limb=limb, lower_limb=SimpleNamespace(width=()))
    marks = Marks(1, cells + 1, 0, 0, 0, 0, 0)
    state = SimpleNamespace(x=x, y=y)
    return full, SimpleNamespace(chain=chain, marks=marks), state, s


@pytest.mark.parametrize("curvature", [0.5, 2.0])
def test_a_limb_bent_to_a_circle(curvature: float) -> None:
    """A beam bent by a moment alone is a circle; its surfaces are strained by thickness over twice the radius."""
    errors = []
    for cells in (12, 24, 48):
        full, braced, state, _ = straight(cells, curvature)
        found, none = limb_strains(full, braced, state)
        assert none is None
        assert found is not None
        inside = found.at < LENGTH * (1.0 - 1.0 / cells) + 1e-12  # the free tip carries no moment
        exact = 0.5 * THICKNESS * curvature
        chord = found.back[inside] + found.belly[inside]  # a chord is shorter than its arc: that pushes both together
        bent = 0.5 * (found.back[inside] - found.belly[inside])
        errors.append(float(np.abs(bent / exact - 1.0).max()))
        assert np.abs(chord).max() <= 2.01 * 3e6 / EA * (curvature * LENGTH / cells) ** 2 / 24.0
    # the chain's bend b = 2 tan(a/2) carries B b (1 + b^2 / 4): a^2 / 3 more than the circle's, a the angle a cell
    assert errors[2] == pytest.approx((curvature * LENGTH / 48) ** 2 / 3.0, rel=1e-3)
    for coarse, fine in pairwise(errors):
        assert coarse / fine == pytest.approx(4.0, abs=0.1)  # second order


def test_a_limb_pulled_along() -> None:
    """A force F along an even rod strains it by F / (E A), both sides alike."""
    full, braced, state, _ = straight(24, pull=-300.0)
    found, _ = limb_strains(full, braced, state)
    assert found is not None
    np.testing.assert_allclose(found.back, -300.0 / EA, rtol=1e-6)  # the rounding of lengths
    np.testing.assert_allclose(found.belly, -300.0 / EA, rtol=1e-6)


def outside(launch: Launch, limb: str, drawn: bool) -> tuple[float, float]:
    """Moment and thrust at a limb's root from the string's pull at its tip and the limb's weight [N m], [N].

    By equilibrium of the limb cut free at its root; the moment positive where it bends the limb to the archer.
    """
    b, state = launch.braced, launch.drawn if drawn else launch.braced
    m, chain = b.marks, b.chain
    level = launch.drawn.level if drawn else 0.0
    x, y = state.x, state.y
    tip, root, by = (m.tip_u, m.root_u, 1) if limb == "upper" else (m.tip_l, m.root_l, -1)
    cell = tip if limb == "upper" else tip - 1
    wrap = chain.above if limb == "upper" else chain.below
    string = string_line(chain, m, np.column_stack((x, y)))
    begin = string[DRAWN - 1 if limb == "upper" else -DRAWN] if wrap.reach else np.array([x[tip], y[tip]])
    end = np.array([x[tip + by], y[tip + by]])
    length = float(np.hypot(*(end - begin)))
    if wrap.reach:
        size = end_pull(wrap, chain.rest_length, x, y)
    else:
        size = chain.stretch[cell] * (length - chain.rest_length[cell])
    pull = size * (end - begin) / length
    nodes = np.arange(root + by, tip + by, by)
    force = chain.mass[nodes, None] * GRAVITY * np.array([np.sin(level), -np.cos(level)])
    force = np.vstack((force, pull))  # the string's, somewhere on its line: where its own node stands
    nodes = np.append(nodes, tip + by)
    arms = np.stack((x[nodes] - x[root], y[nodes] - y[root]), axis=1)
    moment = float((arms[:, 0] * force[:, 1] - arms[:, 1] * force[:, 0]).sum())
    first = arms[0] / np.hypot(*arms[0])
    return moment if limb == "upper" else -moment, float(force.sum(axis=0) @ first)


@pytest.mark.parametrize("curved", [0.0, 3.0])
@pytest.mark.parametrize("drawn", [False, True])
@pytest.mark.parametrize("limb", ["upper", "lower"])
def test_the_root_carries_the_string_s_pull(limb: str, drawn: bool, curved: float) -> None:
    """Strain at the root is the clamp's: 6 M / (E w t^2) and N / (E w t), M and N by equilibrium alone."""
    launch = shot(curved=curved)
    full: Any = filled(launch.setup)
    found = limb_strains(full, launch.braced, launch.drawn if drawn else launch.braced)[limb == "lower"]
    assert found is not None
    one = getattr(full, f"{limb}_limb")
    moment, thrust = outside(launch, limb, drawn)
    width, thickness = one.width[0], one.thickness[0]
    bent, along = 6.0 * moment / (one.modulus * width * thickness**2), thrust / (one.modulus * width * thickness)
    assert moment > 0.0
    assert thrust < 0.0
    # the statics stop at 2e-7 N, on arms of some 0.5 m, of moments of some 10 N m
    assert found.back[0] == pytest.approx(bent + along, rel=1e-7)
    assert found.belly[0] == pytest.approx(along - bent, rel=1e-7)


def test_settles_with_the_mesh() -> None:
    """Largest strain of the upper limb: nearer to the fine mesh's from one mesh to the next."""
    coarse, default, fine = (strain(shot(mesh))[0].largest for mesh in ("coarse", "default", "fine"))
    assert abs(default - fine) < 0.5 * abs(coarse - fine)
    assert default == pytest.approx(fine, rel=2e-3)


def test_the_fitted_modulus_counts() -> None:
    """The draw weight sets the limbs' stiffness: the modulus given in the file drops out, in moment and in thrust."""
    one, other = (strain(draw(board(modulus=modulus), 2))[0] for modulus in ("30 GPa", "60 GPa"))
    assert one.largest == pytest.approx(other.largest, rel=1e-6)


def test_the_largest_is_told_with_limb_place_side_and_moment() -> None:
    launch = shot(limit=0.004)
    both = [limb_strains(filled(launch.setup), launch.braced, s) for s in (launch.braced, launch.drawn)]
    for k, one in enumerate(launch.strain):
        tables = {
            (moment, side): np.abs(getattr(found[k], side))
            for moment, found in zip(("brace", "full draw"), both, strict=True)
            for side in ("back", "belly")
        }
        assert one.largest == max(table.max() for table in tables.values())
        table = tables[one.moment, one.side]
        found: Any = both[0][k]
        assert table[np.searchsorted(found.at, one.at)] == one.largest
    assert [one.limb for one in launch.strain] == ["upper", "lower"]
    assert launch.strain[0].moment == "full draw"  # a recurve bends farther as it is drawn
    assert launch.strain[0].side == "belly"  # pressed by the thrust besides


def test_a_passed_limit_is_a_warning_on_top() -> None:
    launch = shot(limit=0.004)
    assert launch.limits_passed == ("upper_limb.strain_limit", "lower_limb.strain_limit")
    one = launch.strain[0]
    assert one.passed
    assert launch.warnings[0] == (
        f"The upper limb's belly is strained by {100 * one.largest:.2f} % at full draw, {1e3 * one.at:.0f} mm from its "
        "root, over the 0.40 % of its strain_limit: do not draw this bow; ask its maker or a bowyer."
    )


def test_a_limit_that_is_kept_is_no_warning() -> None:
    launch = shot(limit=0.05)
    assert launch.limits_passed == ()
    assert not any(one.passed for one in launch.strain)
    assert not any("strain" in one for one in launch.warnings)


def test_without_table_or_limit_it_is_said_that_it_was_not_checked() -> None:
    plain: list[tuple[Launch | DrawCurve, str]] = [
        (shoot(built("club-outdoor"), trace=False), NO_TABLE), (draw(built("club-outdoor"), 2), NO_TABLE),
        (shot(), NO_LIMIT), (draw(board(), 2), NO_LIMIT),
        (shoot(built("club-outdoor").replace(**{"limbs.strain_limit": 0.004}), trace=False), NO_TABLE),
    ]  # fmt: skip
    for result, why in plain:
        for one in result.strain:
            assert one.unchecked == why
            assert np.isnan(one.largest)
            assert not one.passed
        assert not any("strain" in one for one in result.warnings)
    assert archerysim.strain(shot())[0].largest > 0.001  # asked for
    assert archerysim.strain(shot())[0].unchecked == NO_LIMIT


def test_one_limb_with_a_limit() -> None:
    launch = shoot(board().replace(**{"lower_limb.strain_limit": 0.004}), "default", trace=False)
    assert [one.unchecked for one in launch.strain] == [NO_LIMIT, ""]
    assert launch.limits_passed == ("lower_limb.strain_limit",)


def test_a_strain_near_what_is_usual_for_a_material_is_warned_of_and_one_near_the_maker_s_limit_is_not() -> None:
    """From four fifths of the usual limit on; above it that it is passed is said instead."""
    one = Strained("upper", 0.0, 0.1, "belly", "full draw", 0.01, "", "yew")
    for largest, told in ((0.0079, False), (0.0081, True), (0.01, True), (0.0101, False)):
        said = of_strain((dataclasses.replace(one, largest=largest), dataclasses.replace(one, largest=float("nan"))))
        assert bool(said) == told
    assert said == []
    (words,) = of_strain((dataclasses.replace(one, largest=0.009), dataclasses.replace(one, limit=None)))
    assert "strained by 0.90 % at full draw, 90 % of the 1.00 % usual for yew; single pieces differ by a fifth" in words
    assert not of_strain((dataclasses.replace(one, largest=0.009, usual_for=""),) * 2)


def test_drawn_and_shot_it_stands_among_the_warnings() -> None:
    setup = measured("longbow").replace({"limbs.thickness.all": "1.15 times"})  # fitted to the same draw weight
    for drawn in (draw(setup, 2, mesh="coarse"), shoot(setup, "coarse", trace=False, planes=1)):
        upper = drawn.strain[0]
        near = 0.8 < upper.largest / upper.limit <= 1.0
        assert any("usual for yew; single pieces differ" in one for one in drawn.warnings) == near, upper
        assert near, upper


def test_a_bow_strained_most_at_brace_is_not_to_be_strung() -> None:
    """Only to be written by hand: the words of a limb that would break while it is strung."""
    one = Strained("upper", 0.012, 0.1, "belly", "brace", 0.01, "")
    told = warned((one, dataclasses.replace(one, limb="lower", largest=0.009)))
    assert list(told) == ["upper_limb.strain_limit"]
    assert "1.20 % at brace, 100 mm from its root, over the 1.00 %" in told["upper_limb.strain_limit"]
    assert "do not string this bow" in told["upper_limb.strain_limit"]
