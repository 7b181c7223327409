"""From filled records to the kernels' arrays: limbs, string, arrow, riser, fingers."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from archerysim.equipment.filled_records import BuiltLimb, FilledArcher, FilledArrow, FilledLimb, FilledNock, FilledRod
from archerysim.equipment.filled_setup import BuiltSetup, FilledSetup
from archerysim.mechanics.arrays import NO_RODS, Chain, Fingers, Frame, Grid, Marks, Rods, Support, Throat
from archerysim.mechanics.arrays import Cells as Scratch
from archerysim.mechanics.lumping import share_bends, share_line, share_points
from archerysim.shot.arrays.mesh import Mesh, shared_line, shared_points
from archerysim.shot.arrays.sections import sections
from archerysim.shot.arrays.string import string_cells
from archerysim.shot.arrays.wraps import curvature_table, end_cells, limbs_of, make_wraps, wrap_reach

HUGE = -1.0e30
# [N/m] with which the string sticks to the throat's floor: it yields some hundredths of a millimetre until it slips.
# Three times as much or as little moves the angle of attack by under 0.005 deg, and none sets the step [judgement]
FRICTION_STIFFNESS = 1e6
Cells = dict[str, np.ndarray]


class LimbsAndArrow(NamedTuple):
    """Cells of both limbs and the arrow (`limb_cells`, `arrow_cells`): what does not depend on the string."""

    upper: Cells
    lower: Cells
    arrow: Cells

    def stiffer(self, times: float, ratio: float = 1.0) -> LimbsAndArrow:
        """The same with both limbs' bending stiffness multiplied, and the upper's over the lower's by a ratio."""
        root = math.sqrt(ratio)
        upper, lower = (
            {**limb, "bend": by * limb["bend"], "bend_loss": by * limb["bend_loss"]}
            for limb, by in zip(self[:2], (times * root, times / root), strict=True)
        )
        return LimbsAndArrow(upper, lower, self.arrow)


def lean(limb: BuiltLimb) -> float:
    """Pocket angle with the bolt's turns, forward [rad]."""
    return float(limb.pocket_angle + limb.bolt_turns * limb.lean_per_turn)


def limb_tables(limb: FilledLimb) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Places [m], bending stiffness [N m2], mass per length [kg/m] and natural curvature [1/m].

    Where the limb is given by its section, modulus and density, the stiffness is evaluated on a fine table, since it is
    not linear between the given places.
    """
    at = np.asarray(limb.at, dtype=float)
    curved_at, natural = curvature_table(limb)
    if limb.width:
        places = np.unique(np.concatenate((at, np.linspace(0.0, 1.0, 65), curved_at)))
        here = sections(limb, places)
        stiffness = here.stiffness
        density = limb.density * here.width * here.weighed if limb.density else None
    else:
        places = np.union1d(at, curved_at) if limb.curvature_at else at
        stiffness = np.interp(places, at, limb.bending_stiffness)
        density = None
    if density is None:
        density = np.interp(places, at, limb.mass_per_length)
    curvature = np.interp(places, curved_at, natural)
    return places * limb.length, stiffness, density, curvature


def limb_cells(limb: FilledLimb, cells: int) -> dict[str, np.ndarray]:
    """One limb from root to tip, ``cells`` equal cells.

    Returns
    -------
    dict
        mass (cells+1,) [kg]; stretch, rest_length (cells,); bend (cells,), natural (cells,) as the chain has it,
        bend_loss (cells,) at the nodes from the root on. The bend at the root has half a cell's compliance: the
        clamp acts at the root itself.
    """
    at, stiffness, density, curvature = limb_tables(limb)
    nodes = np.linspace(0.0, limb.length, cells + 1)
    size = limb.length / cells
    mass = shared_line(nodes, at, density)
    mass[-1] += limb.tip_mass
    compliance, angle = np.empty((2, cells))
    share_bends(at, stiffness, curvature, limb.length, compliance, angle)
    return {
        "mass": mass,
        "stretch": np.full(cells, limb.axial_stiffness / size),
        "rest_length": np.full(cells, size),
        "bend": 1.0 / compliance,
        "natural": -2.0 * np.tan(0.5 * angle),
        "bend_loss": limb.loss_time / compliance,
    }


def arrow_cells(arrow: FilledArrow, cells: int) -> dict[str, np.ndarray]:
    """The shaft from the throat's middle to its front end, with its masses where they sit."""
    from archerysim.equipment.arrow import bending_stiffness

    nodes = np.linspace(0.0, arrow.length, cells + 1)
    size = arrow.length / cells
    mass = shared_line(nodes, (0.0, arrow.length), (arrow.mass_per_length, arrow.mass_per_length))
    at = [arrow.nock_at, arrow.fletching_at, arrow.length - arrow.insert_at, arrow.length - arrow.point_at]
    amounts = [arrow.nock_mass, arrow.fletching_mass, arrow.insert_mass, arrow.point_mass]
    mass += shared_points(nodes, at, amounts)
    bend = np.zeros(cells + 1)
    bend[1:-1] = bending_stiffness(arrow.spine) / size
    return {
        "mass": mass,
        "stretch": np.full(cells, arrow.axial_stiffness / size),
        "rest_length": np.full(cells, size),
        "bend": bend,
    }


def make_limbs_and_arrow(setup: FilledSetup, mesh: Mesh) -> LimbsAndArrow:
    """`LimbsAndArrow` of a setup."""
    upper, lower = (limb_cells(limb, mesh.limb) for limb in (setup.upper_limb, setup.lower_limb))
    return LimbsAndArrow(upper, lower, arrow_cells(setup.arrow, mesh.arrow))


def assemble(
    setup: FilledSetup, length: float, throat: float | None, mesh: Mesh, limbs_and_arrow: LimbsAndArrow
) -> tuple[Chain, Marks, np.ndarray]:
    """The whole row of nodes.

    Parameters
    ----------
    setup : FilledSetup
    length : float
        Unloaded string length [m].
    throat : float or None
        As in `string_cells`; None also leaves the arrow away.
    limbs_and_arrow : LimbsAndArrow
        Of the same setup and mesh.

    Returns
    -------
    Chain, Marks, place
        place: (k,) unloaded places of the string's nodes above its middle [m].
    """
    up, down, shaft = limbs_and_arrow
    cells = mesh.limb
    ends = end_cells(setup, length)
    line = string_cells(setup, length, throat, mesh, ends)
    strands = line["stretch"].size
    bow = 2 * cells + strands + 3  # nodes of the bow, clamps included
    n = bow + (mesh.arrow + 1 if throat is not None else 0)

    mass, inverse, bend, natural, bend_loss = np.zeros((5, n))
    stretch, rest, least, loss, axial_loss = np.zeros((5, n - 1))
    rest[:] = 1.0
    least[:] = HUGE

    root_u, tip_u = 1, 1 + cells
    tip_l = tip_u + strands
    root_l = tip_l + cells
    upper, string, lower = slice(root_u, tip_u), slice(tip_u, tip_l), slice(tip_l, root_l)

    mass[root_u : tip_u + 1] = up["mass"]
    mass[tip_l : root_l + 1] = down["mass"][::-1]
    mass[tip_u : tip_l + 1] += line["mass"]
    for name, target in (("stretch", stretch), ("rest_length", rest)):
        target[upper] = up[name]
        target[string] = line[name]
        target[lower] = down[name]  # all alike
    least[string] = 0.0
    loss[string] = line["loss"]
    axial_loss[string] = line["axial_loss"]
    # an upper limb curved forward turns clockwise from root to tip; the row passes the lower one from
    # tip to root, which turns clockwise for the same curve too
    for name, target in (("bend", bend), ("bend_loss", bend_loss), ("natural", natural)):
        target[upper] = up[name]
        target[tip_l + 1 : root_l + 1] = down[name][::-1]
    rest[0], rest[root_l] = up["rest_length"][0], down["rest_length"][0]

    edge_u = tip_u
    if throat is not None:
        mass[bow:] = shaft["mass"]
        stretch[bow:] = shaft["stretch"]
        rest[bow:] = shaft["rest_length"]
        bend[bow:] = shaft["bend"]
        edge_u = tip_u + int(np.abs(line["place"] - (throat + 0.5 * setup.nock.floor)).argmin())
    reach = tuple(wrap_reach(limb, cells) for limb in limbs_of(setup))
    marks = Marks(root_u, tip_u, edge_u, edge_u + 1, tip_l, root_l, bow, *reach)
    wraps = make_wraps(setup, marks, stretch, cells)

    for carried in (slice(root_u - 1, root_u + 1), slice(root_l, root_l + 2)):
        mass[carried] = np.inf
    np.divide(1.0, mass, out=inverse)
    mass[inverse == 0.0] = 0.0
    chain = Chain(mass, inverse, stretch, rest, least, loss, axial_loss, bend, natural, bend_loss, *wraps)
    return chain, marks, line["place"]


def without_arrow(chain: Chain, bow: int) -> Chain:
    """The part of the row that is the bow: its first ``bow`` nodes."""
    cells = chain.stretch.size
    parts: dict[str, Any] = chain._asdict()
    for name, part in parts.items():
        if isinstance(part, np.ndarray):
            parts[name] = part[: bow - 1 if part.size == cells else bow]
    return Chain(**parts)


def make_frame(setup: BuiltSetup, limbs_and_arrow: LimbsAndArrow, leans: tuple[float, float]) -> Frame:
    """Riser, rods and what of the limbs moves with them (their butts, and their roots' nodes), as one rigid body; the
    swing of the rods that bend.
    """
    riser, archer = setup.riser, setup.archer
    limbs = (setup.upper_limb, setup.lower_limb)
    behind = [float(limb["rest_length"][0]) for limb in (limbs_and_arrow.upper, limbs_and_arrow.lower)]
    roots = ((riser.upper_root_x, riser.upper_root_y), (riser.lower_root_x, riser.lower_root_y))

    def pocket(lengths: list[float]) -> list[tuple[float, float]]:
        """Places so far behind the roots, along the limbs there."""
        return [
            (x - length * math.sin(angle), y - side * length * math.cos(angle))
            for (x, y), length, angle, side in zip(roots, lengths, leans, (1.0, -1.0), strict=True)
        ]

    clamps = pocket(behind)
    masses = [riser.mass, float(limbs_and_arrow.upper["mass"][0]), float(limbs_and_arrow.lower["mass"][0])]
    places = [(riser.mass_centre_x, riser.mass_centre_y), *roots]
    inertia = riser.inertia
    masses += [limb.butt_mass for limb in limbs]
    places += pocket([0.5 * limb.butt for limb in limbs])
    inertia += sum(limb.butt_mass * limb.butt**2 for limb in limbs) / 12.0
    for rod in riser.rods:
        along = (rod.length * math.cos(rod.direction), rod.length * math.sin(rod.direction))
        masses += [rod.rod_mass, rod.end_mass]
        places += [(rod.start_x + share * along[0], rod.start_y + share * along[1]) for share in (0.5, 1.0)]
        inertia += rod.rod_mass * rod.length**2 / 12.0
    mass = float(sum(masses))
    cx, cy = (float(sum(m * place[i] for m, place in zip(masses, places, strict=True))) / mass for i in (0, 1))
    inertia += sum(m * ((x - cx) ** 2 + (y - cy) ** 2) for m, (x, y) in zip(masses, places, strict=True))
    carried = np.array([clamps[0], *roots, clamps[1]])
    return Frame(
        mass, float(inertia), cx, cy, carried,
        archer.hand_stiffness, archer.hand_damping,
        archer.hand_rotational_stiffness, archer.hand_rotational_damping, make_rods(riser.rods, cx, cy),
    )  # fmt: skip


def make_rods(rods: tuple[FilledRod, ...], cx: float, cy: float) -> Rods:
    """Those of the rods that bend, seen from the mass centre (cx, cy) [m].

    Each swings in the shape that a force at its end gives a cantilever, (3 L s^2 - s^3) / (2 L^3) at s from its
    beginning: the sums over the rod's own mass are 3/8 of it, 11/40 times the length, and 33/140.
    """
    rows = []
    for rod in rods:
        if not rod.bends:
            continue
        along_x, along_y = math.cos(rod.direction), math.sin(rod.direction)
        x, y = rod.start_x - cx, rod.start_y - cy
        share = rod.end_mass + 3 / 8 * rod.rod_mass
        turning = share * (x * along_x + y * along_y) + rod.length * (rod.end_mass + 11 / 40 * rod.rod_mass)
        mass, rate = rod.swinging_mass, 2.0 * math.pi * rod.frequency
        rows.append((
            -along_y, along_x, share, turning, share * (y * along_x - x * along_y),
            mass, mass * rate**2, 2.0 * rod.damping * mass * rate,
        ))  # fmt: skip
    return Rods(*np.array(rows).T.copy()) if rows else NO_RODS


def make_throat(nock: FilledNock, closed: bool = False) -> Throat:
    """The nock's numbers; ``closed`` makes every contact hold both ways (for the highest frequency)."""
    loc = nock.locators
    grip, snap = (1e12, 1e3) if closed else (0.5 * nock.grip, nock.snap_travel)
    stiffness = FRICTION_STIFFNESS if nock.friction > 0.0 else 0.0
    present = (1.0, 1.0) if closed else (float(loc.lower_present), float(loc.upper_present))
    return Throat(
        float(np.cos(nock.slope)), float(np.sin(nock.slope)), nock.edge_stiffness, nock.edge_loss, grip,
        snap, nock.depth, loc.stiffness + (stiffness if closed else 0.0), loc.loss, 0.0 if closed else 0.5 * loc.gap,
        *present, nock.friction, stiffness,
    )  # fmt: skip


def make_support(setup: FilledSetup) -> Support:
    """The rest's numbers and the shaft's half diameter."""
    rest = setup.rest
    travel = np.inf if rest.unlimited_support else rest.support_travel
    return Support(rest.forward, rest.height, rest.stiffness, rest.damping, 0.5 * setup.arrow.diameter, travel)


def make_fingers(archer: FilledArcher, place: np.ndarray, throat: float, tip_u: int) -> Fingers:
    """Share each finger's force between the string's nodes, evenly over its pad.

    Parameters
    ----------
    place : (k,) array
        Unloaded places of the string's nodes above its middle, falling [m].
    throat : float
        Place of the throat's middle [m].
    """
    rising = place[::-1].copy()
    shares = np.asarray(archer.finger_shares, dtype=float)
    middles = np.asarray(archer.finger_places, dtype=float) + (throat - archer.crawl)
    rows = np.zeros((shares.size, place.size))
    for i, row in enumerate(rows):
        if archer.pad_width > 0.0:
            ends = middles[i] + np.array([-0.5, 0.5]) * archer.pad_width
            share_line(rising, ends, np.full(2, shares[i] / archer.pad_width), row)
        else:
            share_points(rising, middles[i : i + 1], shares[i : i + 1], row)
    weight = rows[:, ::-1]
    used = np.flatnonzero(weight.any(axis=0))
    first, last = used[0], used[-1]
    return Fingers(
        tip_u + int(first),
        np.ascontiguousarray(weight[:, first : last + 1]),
        np.asarray(archer.release_time, dtype=float),
        np.asarray(archer.release_delays, dtype=float),
    )


def make_cells(n: int) -> Scratch:
    """Where the forces of a chain of ``n`` nodes are worked out."""
    return Scratch(*np.zeros((len(Scratch._fields), n)))


@lru_cache(maxsize=64)
def make_grid(marks: Marks, n: int) -> Grid:
    """Number the nodes: upper branch and arrow towards the throat, throat, lower branch away from it.

    Only the upper branch then reaches across others, over the arrow, the shortest. The same for every bow with as many
    nodes, so it is kept; nobody writes to its arrays.
    """
    a = marks.tail
    if a < n:
        order = list(range(marks.root_u + 1, marks.edge_u))
        order += list(range(n - 1, a + 2, -1))
        order += [a + 2, a + 1, a, marks.edge_u, marks.edge_l]
        order += list(range(marks.edge_l + 1, marks.root_l))
    else:
        order = list(range(marks.root_u + 1, marks.root_l))
    place = np.full(n, -1, dtype=np.int64)
    place[order] = 2 * np.arange(len(order))
    earlier = np.concatenate([np.arange(n - 1), np.arange(n - 2)])
    later = np.concatenate([np.arange(1, n), np.arange(2, n)])
    # the string has no bend: its nodes meet their neighbours only; nor does anything reach across to the arrow
    apart = (later == earlier + 2) & (earlier + 1 >= marks.tip_u) & (earlier + 1 <= marks.tip_l)
    keep = ~apart & ((later < a) | (earlier >= a))
    if a < n:
        clique = np.array([marks.edge_u, marks.edge_l, a, a + 1, a + 2])
        one, other = np.triu_indices(5, 1)
        earlier = np.concatenate([earlier[keep], clique[one]])
        later = np.concatenate([later[keep], clique[other]])
    else:
        earlier, later = earlier[keep], later[keep]
    for tip, inward, lying in ((marks.tip_u, -1, marks.reach_u), (marks.tip_l, 1, marks.reach_l)):
        if lying:  # the string's end cell joins its node to the limb's outer nodes, and these to each other
            met = np.array([tip - inward, *(tip + inward * k for k in range(lying + 2))])
            one, other = np.triu_indices(met.size, 1)
            earlier, later = np.concatenate([earlier, met[one]]), np.concatenate([later, met[other]])
    p, q = place[earlier], place[later]
    both = (p >= 0) & (q >= 0)
    reach = np.arange(len(order)) * 2
    np.minimum.at(reach, np.maximum(p, q)[both] // 2, np.minimum(p, q)[both])
    first = np.repeat(reach, 2).astype(np.int64)
    rows = np.arange(first.size) - first
    start = np.concatenate(([0], np.cumsum(rows))).astype(np.int64)
    return Grid(place, start, first)
