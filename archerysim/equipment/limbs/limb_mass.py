"""How the mass of a limb is laid out: its butt, which stands still in the pocket, and what moves in front of it.

A scale shows both together. What moves follows from one of three things:

- nothing more is known: the butt weighs as much per length as the limb does at its root;
- ``butt_mass``: what the butt weighs;
- ``balance``: where the limb balances, from the butt's end.

With M the mass of the limb, m_t its tip mass, b the butt's length, L that of the working limb, m_b the butt's mass and
r L the place of the working limb's own mass centre in front of the root, the balance point c is where

    (M + m_t) c = m_b b/2 + (M - m_b) (b + r L) + m_t (b + L)      (`balance_of`).

The butt's mass is even along it. Where nothing says how a limb's mass falls towards its tip, c says it: mass per length
is then even in the butt and falls along a straight line from the root to the tip (`taper_of`). Where tables say it, c
gives the butt's mass.
"""

from __future__ import annotations

from archerysim.errors import SetupError
from archerysim.fields.filling import Filling
from archerysim.fields.units import show

Table = tuple[float, ...]

# Butt of a limb [m]: of a take-down bow; one in one piece has none. A sixth of the limb then stands in the pocket
# [judgement]: a recurve is about as fast with it as one that was measured (tests/outside/test_speed_law.py).
BUTT = {"take-down": 0.080, "one piece": 0.0}
# Middle of the typical range, common practice [kg].
LIMB_MASS = {"junior": 0.100, "club": 0.165, "elite": 0.170, "barebow": 0.170, "traditional": 0.175}
MASS_AT_TIP = 0.39  # mass per length at the tip, that at the root being 1 [judgement]
EVEN, LIGHTEST = 1.0, 0.05  # the same, of the limbs whose balance points are possible [judgement]
MOVES = 0.05  # least share of a limb's mass that moves [judgement]
ROUNDED = 1 + 1e-9  # ends of what is possible are possible, but for rounding


def mean(places: Table, table: Table) -> float:
    """Mean along the limb of a table with straight lines between its places."""
    steps = zip(places, places[1:], table, table[1:], strict=False)
    return sum((b - a) * (low + high) / 2 for a, b, low, high in steps)


def first_moment(places: Table, table: Table) -> float:
    """Mean along the limb of a table times the place (0 to 1), with straight lines between its places."""
    steps = zip(places, places[1:], table, table[1:], strict=False)
    return sum((b - a) * (low * (2 * a + b) + high * (a + 2 * b)) / 6 for a, b, low, high in steps)


def taper_of(centre: float, butt: float, length: float) -> float:
    """Mass per length at the tip over that in the butt and at the root, of a limb that balances at a place.

    Parameters
    ----------
    centre : float
        Mass centre without the tip mass, from the butt's end [m].
    butt, length : float
        Of the butt and of the limb in front of the root [m].

    Notes
    -----
    Mass per length is even in the butt and falls along a straight line from 1 at the root to t at the tip:
    b^2/2 + b L (1 + t)/2 + L^2 (1 + 2 t)/6 = c (b + L (1 + t)/2), solved for t.
    """
    even = 0.5 * butt**2 + 0.5 * butt * length + length**2 / 6
    return (centre * (butt + 0.5 * length) - even) / (length * (0.5 * butt + length / 3 - 0.5 * centre))


def lay_out_mass(filling: Filling, path: str, category: str, kind: str, section: Table | None) -> None:
    """Take a limb's masses: of all of it, of its butt, and per length in front of the root.

    Parameters
    ----------
    filling : Filling
        Of the limb, its length and tables filled in.
    path : str
        Its place in the setup.
    category, kind : str
        Of the setup, and of its bow.
    section : tuple of float or None
        Width times thickness at the limb's places [m2], where known.

    Raises
    ------
    SetupError
        Where no limb has such a butt or balances there.
    """
    filling.assume("butt", BUTT[kind], f"usual for a {kind} bow [judgement]")
    if "density" in filling and section:
        per_length = tuple(filling["density"] * a for a in section)
        filling.derive("mass_per_length", per_length, f"from {path} density, width and thickness")
    if "mass_per_length" in filling:
        _from_tables(filling, path)
    else:
        filling.assume("mass", LIMB_MASS[category], f"usual for {category} [common practice]")
        _from_mass(filling, path, section)
    filling.derive("balance", _balance(filling), f"from {path}.mass_per_length, butt, butt_mass and tip_mass")


def balance_of(held: float, moving: float, share: float, butt: float, length: float, tip: float) -> float:
    """Where a limb balances, from the butt's end [m].

    Parameters
    ----------
    held, moving, tip : float
        Mass of the butt, of the limb in front of the root without the tip's, and the tip mass [kg].
    share : float
        Mass centre of ``moving``, from the root, 0 to 1 along the limb.
    butt, length : float
        Of the butt and of the limb in front of the root [m].
    """
    moment = held * 0.5 * butt + moving * (butt + share * length) + tip * (butt + length)
    return moment / (held + moving + tip)


def _from_tables(filling: Filling, path: str) -> None:
    """The butt, and with it the whole, of a limb whose mass per length is known."""
    places, table = filling["at"], filling["mass_per_length"]
    length, butt, tip = filling["length"], filling["butt"], filling["tip_mass"]
    moving = length * mean(places, table)
    if "balance" in filling:
        centre, most = filling["balance"], balance_of(0.0, moving, _share(places, table), butt, length, tip)
        if not 0.5 * butt < centre <= most * ROUNDED:
            _refuse_balance(path, centre, 0.5 * butt, most)
        held = (moving + tip) * max(most - centre, 0.0) / (centre - 0.5 * butt)
        filling.derive("butt_mass", held, f"from {path}.balance, butt, mass_per_length and tip_mass")
    filling.derive("butt_mass", butt * table[0], f"from {path}.butt, with the limb's mass per length at its root")
    filling.derive("mass", moving + filling["butt_mass"], f"from {path}.mass_per_length and {path}.length")


def _from_mass(filling: Filling, path: str, section: Table | None) -> None:
    """The butt, and how the rest falls towards the tip, of a limb of known mass."""
    places: Table = filling["at"]
    mass, length, butt = filling["mass"], filling["length"], filling["butt"]
    taper, words = MASS_AT_TIP, f"falling from 1 at the root to {MASS_AT_TIP} at the tip [judgement]"
    if section:
        words = "as width x thickness"
    elif "balance" in filling:
        taper = _taper(filling, path)
        words = f"falling from 1 at the root to {taper:.3g} at the tip, from {path}.balance"
    shape = section or tuple(1.0 + (taper - 1.0) * s for s in places)
    spread = length * mean(places, shape)
    size = mass / (spread + butt * shape[0])
    if "balance" in filling and section:
        moving = _moving(filling, path, _share(places, section))
        filling.derive("butt_mass", mass - moving, f"from {path}.balance, butt and mass")
        size = moving / spread
    elif "butt_mass" in filling:
        moving = mass - filling["butt_mass"]
        if moving < MOVES * mass:
            held = f"{show(filling['butt_mass'], 'g')} of a limb of {show(mass, 'g')} leaves nothing that moves"
            raise SetupError(f"{path}.butt_mass", held, f"{path}.mass is that of the whole limb: check both")
        size = moving / spread
    filling.derive(
        "butt_mass", size * shape[0] * butt, f"from {path}.butt and mass, with the mass per length at the root"
    )
    filling.derive("mass_per_length", tuple(size * m for m in shape), f"from {path}.mass, {words}")


def _share(places: Table, table: Table) -> float:
    """The mass centre's place along the limb in front of the root, 0 to 1."""
    return first_moment(places, table) / mean(places, table)


def _taper(filling: Filling, path: str) -> float:
    """`taper_of` a limb of known balance point."""
    mass, tip, length, butt = (filling[name] for name in ("mass", "tip_mass", "length", "butt"))

    def balance(taper: float) -> float:
        moving = mass * length * (1 + taper) / (2 * butt + length * (1 + taper))
        return balance_of(mass - moving, moving, (1 + 2 * taper) / (3 + 3 * taper), butt, length, tip)

    centre, least, most = filling["balance"], balance(LIGHTEST), balance(EVEN)
    if not least / ROUNDED <= centre <= most * ROUNDED:
        _refuse_balance(path, centre, least, most)
    return taper_of(((mass + tip) * centre - tip * (butt + length)) / mass, butt, length)


def _moving(filling: Filling, path: str, share: float) -> float:
    """Mass in front of the root of a limb of known mass, shape and balance point [kg]."""
    mass, tip, length, butt = (filling[name] for name in ("mass", "tip_mass", "length", "butt"))
    centre = filling["balance"]
    least, most = (balance_of(mass - moving, moving, share, butt, length, tip) for moving in (MOVES * mass, mass))
    if not least / ROUNDED <= centre <= most * ROUNDED:
        _refuse_balance(path, centre, least, most)
    return float(mass * (MOVES + (1 - MOVES) * (centre - least) / (most - least)))


def _balance(filling: Filling) -> float:
    """Where a limb balances whose masses are known, from the butt's end [m]."""
    length, butt, tip, held = (filling[name] for name in ("length", "butt", "tip_mass", "butt_mass"))
    places, table = filling["at"], filling["mass_per_length"]
    return balance_of(held, length * mean(places, table), _share(places, table), butt, length, tip)


def _refuse_balance(path: str, centre: float, least: float, most: float) -> None:
    ends = f"{show(least, 'mm', 4)} to {show(most, 'mm', 4)}"
    raise SetupError(
        f"{path}.balance", f"no limb like this balances {show(centre, 'mm')} from its butt's end, only at {ends}",
        f"Measure it again, with the tip on, along the limb; check {path}.butt, length and mass",
    )  # fmt: skip
