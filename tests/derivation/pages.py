"""The pages of docs/derivation: every element's energy, force and tangent as SymPy writes them."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import sympy as sp

from tests.derivation import chain_elements as chains
from tests.derivation import formulas
from tests.derivation import riser_elements as risers
from tests.derivation import side_elements as sides
from tests.derivation import space_elements as spaces
from tests.derivation import throat_elements as throats
from tests.derivation.element import Element, Layer, dot

FOLDER = Path(__file__).resolve().parents[2] / "docs" / "derivation"
COMMAND = "python -m tests.derivation"
WIDTH = 118


def groups() -> dict[str, tuple[str, Sequence[Element]]]:
    """Elements of each page, by the page's name, after its title."""
    return {
        "chain": ("Chain: stretch, bend and loss", (
            chains.stretch(), chains.string_cell(), chains.string_damper(), chains.bend(),
        )),
        "throat": ("Throat: edges, locators and friction", (
            throats.edge(), throats.closed_edge(), throats.touching_locators(), throats.gapped_locators(),
            throats.friction(),
        )),
        "rest-riser-hand": ("Rest, riser, hand, weight and fingers", (
            risers.rest(), risers.hand(), risers.weight(), risers.finger(),
        )),
        "space": ("Both planes: cells, bend and the string on a limb", (
            spaces.stretch(), spaces.string_cell(), spaces.string_damper(), spaces.bend(), spaces.end_cell(),
        )),
        "sideways": ("Sideways: side support, arm, groove, tips and fingers", (
            sides.side_support(), sides.arm(), sides.folding(), sides.groove(), sides.tip(), sides.finger(),
            sides.weight(),
        )),
    }  # fmt: skip


def pages() -> dict[str, str]:
    """File name and text of every page."""
    found = {"README.md": start_page({f"{name}.md": title for name, (title, _) in groups().items()})}
    for name, (title, elements) in groups().items():
        shown: dict[sp.Symbol, sp.Expr] = {}
        parts = [f"# {title}", f"Written by `{COMMAND}`; [README.md](README.md) says how to read it."]
        for element in elements:
            parts += section(element, shown)
        found[f"{name}.md"] = "\n\n".join(parts) + "\n"
    return found


def start_page(names: Mapping[str, str]) -> str:
    """What the folder is and how its formulas go together."""
    listed = "\n".join(f"- [{title}]({name})" for name, title in names.items())
    return START.replace("COMMAND", COMMAND).replace("LISTED", listed)


START = r"""# Derivation

Every force of the model again, derived from energies by SymPy and not by hand. `COMMAND` writes these pages;
`pytest tests/derivation` compares them with fresh ones, and the compiled kernels with the formulas:

- each element's force and tangent at hundreds of random states, to 1e-10 of the largest entry (`test_elements.py`);
- all forces together on a small bow (two cells a limb, four string cells, two arrow cells; 23 coordinates) at hundreds
  of random states with the contacts held closed, switching, with a gap between nock and locators, and with friction
  in the throat and a pinch on the nock, to 1e-10;
- the same bow's shot: Lagrange's equations integrated by SciPy to 1e-12. With the contacts held closed the compiled
  release converges to them with the square of its step; with all contacts switching, until the arrow is clear, to 1e-4
  (`test_whole_bow.py`);
- the same for the shot in both planes: each element (`test_space_elements.py`), all forces together with the arm
  supporting, left and folding, and the shot (`test_whole_bow_in_space.py`; 31 coordinates); `test_space.py` tests the
  properties of these elements.

The pages:

LISTED

## How to read them

An element is described in layers: the first gives values from the coordinates $q$ of its nodes, each further one gives
values $m$ from those before it. Its energy $V$, and Rayleigh's function $R$ (half the lost power), are functions of
these values. With the pull $P$ on a value, and $S$ the total pull on it including that from later layers,

```math
P_m = \frac{\partial V}{\partial m} + \frac{\partial R}{\partial \dot m}, \qquad
S_n = P_n + \sum_m S_m \frac{\partial m}{\partial n}, \qquad
F_i = -\sum_n S_n \frac{\partial n}{\partial q_i}
```

are the forces on the coordinates: $F = -\partial V / \partial q - \partial R / \partial \dot q$. The tangent $K$, minus
the derivative of the forces at rest, is

```math
K_{ij} = \frac{\partial^2 V}{\partial q_i\, \partial q_j} = \sum_{m, n} \frac{\partial^2 V}{\partial m\, \partial n}
\frac{\partial m}{\partial q_i} \frac{\partial n}{\partial q_j} + \sum_m \frac{\partial V}{\partial m}
\frac{\partial^2 m}{\partial q_i\, \partial q_j}
```

and a value of a later layer has its derivatives from those of the values before it:

```math
\frac{\partial m}{\partial q_i} = \sum_n \frac{\partial m}{\partial n} \frac{\partial n}{\partial q_i}, \qquad
\frac{\partial^2 m}{\partial q_i\, \partial q_j} = \sum_{n, o} \frac{\partial^2 m}{\partial n\, \partial o}
\frac{\partial n}{\partial q_i} \frac{\partial o}{\partial q_j} + \sum_n \frac{\partial m}{\partial n}
\frac{\partial^2 n}{\partial q_i\, \partial q_j}
```

Each page gives a layer's values, their first and their second derivatives (those that are not zero), the energy's, and
the force on each coordinate; a tangent is written out where it is short; elsewhere it follows from the lines above. A
one-sided contact has a law $f$ in place of $P$; at rest it is the derivative of the energy given. Angles are positive
counter-clockwise, x forward, y up, z sideways, positive away from the riser's window.

## The whole bow

The coordinates are the places of all free nodes and the riser's $X, Y, \varphi$; the two nodes that clamp each limb are
driven by the riser, and their forces reach it through the derivatives of their places. With the kinetic energy

```math
T = \sum_i \tfrac12 m_i (\dot x_i^2 + \dot y_i^2) + \tfrac12 m (\dot X^2 + \dot Y^2) + \tfrac12 I \dot\varphi^2
```

and $L = T - V$, with $V$ and $R$ the sums over all elements,

```math
\frac{d}{dt} \frac{\partial L}{\partial \dot q} - \frac{\partial L}{\partial q} +
\frac{\partial R}{\partial \dot q} = Q
```

where $Q$ is the virtual work of the laws of contacts that switch, and zero where they are held closed but for the rest.
`tests/derivation/whole_bow.py` puts the symbols together for any row of nodes, differentiates and compiles them.

## Both planes

String, shaft and the limbs' tips have a $z$ too, with $T$ and the energies of their elements over all three
coordinates (`tests/derivation/whole_bow_in_space.py`). Limbs, riser, throat and the rest's force keep theirs: they
stay in the plane of $x$ and $y$, and see of string and shaft what these are in it. A limb's tip moves sideways with a
mass of its own. No tangents are needed, since the statics are flat.

*Flat.* In any plane, turned as one likes, the elements of string and shaft have the forces, energies and powers of
the flat ones. The bend needs $(1 - \cos\theta) / (1 + \cos\theta) = \tan^2 (\theta / 2)$ for it.

*Sums.* Cells and bends are functions of differences of places and of scalar products: their forces, and the torques
of these about any point, sum to zero along and about all three axes. The loss of a cell across itself alone keeps a
torque, $-c\, e \times \dot e$: it resists that the cell turns. The groove's three forces sum to zero and leave a
couple, as far as string and throat stand apart in the plane; so do the throat's as far as they stand apart sideways.
The side support gives the riser what it takes along $x$. What acts along $z$ from outside are side support, tips,
fingers, a folding arm and weight.

*Mirror.* With all $z$ of the other sign, cells, losses, bends, the string's end on a limb, groove and tips have
forces of the other sign along $z$ and the same ones along $x$ and $y$. Side support, arm and the fingers' roll stand
on one side: their mirror image is the bow for the other hand.
"""


def section(element: Element, shown: dict[sp.Symbol, sp.Expr]) -> list[str]:
    """One element; values that stand as they are further up on the page are not told again."""
    parts = [f"## {element.title}", wrapped(element.text)]
    known: list[str] = []
    for layer in element.layers:
        fresh = {s: value for s, value in layer.items() if shown.get(s) != value}
        known += [f"${sp.latex(s)}$" for s in layer if s not in fresh]
        if fresh:
            parts.append(maths(f"{sp.latex(s)} = {sp.latex(value)}" for s, value in fresh.items()))
            parts += layer_derivatives(fresh, element)
        shown |= layer
    if known:
        parts.insert(2, wrapped(f"As above: {', '.join(known)}."))
    if element.energy != 0:
        parts += ["Energy, its first and its second derivatives:", maths(["V = " + sp.latex(element.energy)])]
        parts.append(maths(energy_lines(element)))
    if element.loss != 0:
        parts += ["Loss:", maths(["R = " + sp.latex(element.loss)]), maths(loss_lines(element))]
    if element.law is not None:
        parts += ["Law:", maths(["f = " + sp.latex(element.law.force)])]
    pulls, total = formulas.whole_pulls(element)
    lines = [f"{sp.latex(formulas.whole_pull_of(s))} = {sp.latex(value)}" for s, value in pulls.items()]
    lines += [f"F_{{{sp.latex(q)}}} = {sp.latex(value)}" for q, value in total.items()]
    parts += ["Force on each coordinate:", maths(lines)]
    entries = formulas.tangent(element)
    if entries:
        lines = (f"K_{{{sp.latex(p)}, {sp.latex(q)}}} = {sp.latex(value)}" for (p, q), value in entries.items())
        parts += [f"Tangent{TANGENT_OF.get(element.name, '')}:", maths(lines)]
    return parts


TANGENT_OF = {
    "string-cell": r", with $P'_l = \partial^2 V / \partial l^2$",
    "rest": ", over the shaft's nodes, while the rest pushes and all is still",
}


def wrapped(text: str) -> str:
    """Lines of the pages' width; formulas are not broken."""
    whole = re.sub(r"\$[^$]*\$", lambda found: found.group().replace(" ", "\0"), text)
    return textwrap.fill(whole, WIDTH, break_long_words=False, break_on_hyphens=False).replace("\0", " ")


def maths(lines: Iterable[str]) -> str:
    """A block of formulas, one a line."""
    rows = list(lines)
    if len(rows) == 1:
        return f"```math\n{rows[0]}\n```"
    inner = " \\\\\n".join(row.replace(" = ", " &= ", 1) for row in rows)
    return f"```math\n\\begin{{aligned}}\n{inner}\n\\end{{aligned}}\n```"


def partial(top: str, *below: sp.Symbol) -> str:
    """A derivative's name."""
    order = f"^{len(below)}" if len(below) > 1 else ""
    names = [sp.latex(s) for s in below]
    under = f"{names[0]}^2" if len(set(names)) < len(names) else " \\, \\partial ".join(names)
    return f"\\frac{{\\partial{order} {top}}}{{\\partial {under}}}"


def layer_derivatives(layer: Layer, element: Element) -> list[str]:
    """Blocks of the derivatives of a layer's values; none where they are plain numbers."""
    first = formulas.first_derivatives(layer, element)
    if all(value.is_number for _, _, value in first):
        return []
    second = formulas.second_derivatives(layer, element)
    return [
        maths(f"{partial(sp.latex(of), *over)} = {sp.latex(value)}" for of, over, value in block)
        for block in (first, second)
        if block
    ]


def energy_lines(element: Element) -> list[str]:
    """Derivatives of the energy with the measures; of the second those that are not zero."""
    over = [s for s in formulas.measures(element) if element.energy.has(s)]
    lines = [f"{partial('V', s)} = {sp.latex(formulas.neat(sp.diff(element.energy, s)))}" for s in over]
    for pair in formulas.pairs(over):
        found = formulas.neat(sp.diff(element.energy, *pair))
        if found != 0:
            lines.append(f"{partial('V', *pair)} = {sp.latex(found)}")
    return lines


def loss_lines(element: Element) -> list[str]:
    """Derivatives of the loss with the measures' rates."""
    over = [s for s in formulas.measures(element) if element.loss.has(dot(s))]
    return [f"{partial('R', dot(s))} = {sp.latex(sp.diff(element.loss, dot(s)))}" for s in over]
