"""Random measured setups inside the trade's ranges, from a seed (numpy, not hypothesis: an even draw)."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.equipment import (
    Archer,
    Arrow,
    Bow,
    Limb,
    Locators,
    Nock,
    Rest,
    Riser,
    Rod,
    Setup,
    String,
)

INCH, POUND, GRAIN = 0.0254, 4.4482216152605, 64.79891e-6

# lengths [in], draw weight [lbf], brace height [mm], tiller split [mm], reading [mm], rest stiffness [N/m],
# release [ms], riser [kg], stabilisers [kg], limb [g], EA [1e5 N], arrow [g]: common practice
RANGES: dict[str, dict[str, tuple[float, float]]] = {
    "junior": {
        "length": (48, 62),
        "weight": (10, 22),
        "brace": (165, 205),
        "split": (0, 6),
        "reading": (3, 10),
        "rest": (200, 1500),
        "release": (5, 15),
        "riser": (0.5, 1.0),
        "rods": (0, 0.2),
        "limb": (70, 130),
        "stretch": (0.2, 1.5),
        "arrow": (14, 22),
    },
    "club": {
        "length": (64, 70),
        "weight": (22, 38),
        "brace": (210, 240),
        "split": (2, 8),
        "reading": (3, 10),
        "rest": (300, 5000),
        "release": (4, 10),
        "riser": (1.0, 1.3),
        "rods": (0.2, 0.7),
        "limb": (130, 200),
        "stretch": (0.6, 2.5),
        "arrow": (17, 28),
    },
    "elite": {
        "length": (66, 72),
        "weight": (36, 54),
        "brace": (215, 245),
        "split": (2, 8),
        "reading": (4, 12),
        "rest": (300, 5000),
        "release": (2, 6),
        "riser": (1.1, 1.5),
        "rods": (0.5, 1.2),
        "limb": (140, 200),
        "stretch": (0.8, 3),
        "arrow": (16, 32),
    },
    "barebow": {
        "length": (66, 70),
        "weight": (28, 46),
        "brace": (210, 240),
        "split": (-3, 4),
        "reading": (6, 15),
        "rest": (300, 5000),
        "release": (3, 8),
        "riser": (1.1, 1.4),
        "rods": (0.3, 1.5),
        "limb": (140, 200),
        "stretch": (0.8, 2.5),
        "arrow": (18, 32),
    },
    "traditional": {
        "length": (58, 70),
        "weight": (25, 60),
        "brace": (155, 205),
        "split": (0, 8),
        "reading": (4, 12),
        "rest": (1e4, 1e5),
        "release": (4, 12),
        "riser": (0.4, 1.2),
        "rods": (0, 0),
        "limb": (100, 250),
        "stretch": (0.15, 1.5),
        "arrow": (26, 42),
    },
}


def random_setup(rng: np.random.Generator, category: str | None = None) -> Setup:
    """One random measured setup, its limbs straight when unstrung."""
    category = category or str(rng.choice(list(RANGES)))
    span = RANGES[category]

    def pick(name: str) -> float:
        return float(rng.uniform(*span[name]))

    def between(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    length, brace = pick("length"), pick("brace") * 1e-3
    draw = between(24, 27) if category == "junior" else between(26, 31)
    draw = min(draw, 0.45 * length)
    upper = brace - between(0.015, 0.035)
    under = bool(rng.random() < (0.9 if category == "barebow" else 0.2))
    shares = rng.uniform((0.35, 0.30, 0.10), (0.50, 0.45, 0.25)) if under else rng.uniform(
        (0.25, 0.40, 0.10), (0.40, 0.55, 0.30))  # fmt: skip
    shares = shares / shares.sum()
    places: Any = (
        (-between(12, 16), -between(29, 35), -between(46, 54))
        if under
        else (between(12, 17), -between(12, 17), -between(29, 36))
    )
    shaft = draw * INCH + between(0.0, 0.05)
    arrow_mass = pick("arrow") * 1e-3
    shaft_mass = 0.62 * arrow_mass
    rods = pick("rods")
    return Setup(
        name="random",
        category=category,
        form="measured",  # type: ignore[arg-type]
        bow=Bow(
            length=length * INCH,
            brace_height=brace,
            upper_tiller=upper,
            lower_tiller=upper - pick("split") * 1e-3,
            draw_weight=pick("weight") * POUND,
            draw_weight_at=draw * INCH,
            pocket_angle=np.radians(between(6, 16)),
            stiffness_ratio=between(0.93, 1.07),
        ),
        upper_limb=Limb(mass=pick("limb") * 1e-3, shape="straight"),
        lower_limb=Limb(mass=pick("limb") * 1e-3, shape="straight"),
        riser=Riser(
            mass=pick("riser"),
            rods=(Rod(start_x=0.03, start_y=0.0, length=0.6, direction=0.0, rod_mass=0.3 * rods, end_mass=0.7 * rods),)
            if rods > 0
            else (),
        ),
        string=String(axial_stiffness=pick("stretch") * 1e5, mass_per_length=between(3.0e-3, 5.5e-3)),
        nock=Nock(
            height=between(5e-3, 8e-3),
            floor=between(3e-3, 5e-3),
            depth=between(3e-3, 6e-3),
            slope=np.radians(between(-5, 10)),
            grip=between(1, 10),
            locators=Locators(reading=pick("reading") * 1e-3),
        ),
        rest=Rest(stiffness=pick("rest"), height=between(0.035, 0.060), forward=between(-0.01, 0.02)),
        arrow=Arrow(
            length=shaft,
            diameter=between(5e-3, 9.3e-3),
            spine=between(0.4, 1.2) * INCH,
            mass_per_length=shaft_mass / shaft,
            point_mass=0.28 * arrow_mass,
            nock_mass=0.04 * arrow_mass,
            fletching_mass=0.06 * arrow_mass,
        ),
        archer=Archer(
            hold="three under" if under else "split",
            draw_length=draw * INCH,
            finger_places=tuple(p * 1e-3 for p in places),
            finger_shares=tuple(map(float, shares)),
            crawl=between(0, 0.05) if category == "barebow" and rng.random() < 0.5 else 0.0,
            release_time=(pick("release") * 1e-3,) * 3,
        ),
    )
