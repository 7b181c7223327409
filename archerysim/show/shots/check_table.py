"""What a setup says: every value with its source, what is odd, and what the bow makes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from archerysim.show.lines import braced_lines, edit_lines, fit_lines, readings_of, strain_rows
from archerysim.show.text import WIDTH, energy, force, length, pairs, titled, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.equipment import Oddity, Setup, Source
    from archerysim.shot.arrays.mesh import Mesh
    from archerysim.shot.fitted_bow import FittedBow

# the same number once more in the other system of units
OTHER = {"mm": "in", "in": "mm", "lbf": "N", "gr": "g", "gr/in": "g/m"}
FOUND = (
    "string.length", "upper_limb.pocket_angle", "lower_limb.pocket_angle", "upper_limb.bending_stiffness",
    "lower_limb.bending_stiffness", "upper_limb.modulus", "lower_limb.modulus", "riser.upper_root_x",
    "riser.lower_root_x", "nock.locators.place",
)  # fmt: skip
# also by the fit where these were measured
FOUND_FROM = {"bow.draw_forces": ("natural_curvature",), "bow.arrow_speed": ("butt_mass", "mass_per_length", "balance")}
# told together, last: only a shot in both planes asks for them
SIDEWAYS = (
    *(f"side.{one}" for one in ("kind", "offset", "stiffness", "preload", "travel", "damping", "forward")),
    "rest.kind", "rest.reach", "rest.fold_force", "archer.side_roll", "archer.side_hold", "archer.handed",
    "archer.cant", *(f"{limb}.side_{one}" for one in ("stiffness", "damping", "mass")
                     for limb in ("limbs", "upper_limb", "lower_limb")),
    "nock.groove_stiffness", "nock.groove_loss", "arrow.fletching_angle",
)  # fmt: skip
BOTH_PLANES = "Sideways, for a shot in both planes only"
ODD = "(!) "
MOST_LISTED = 12  # of a row's values
GIVEN = "given"


def check_table(bow: Setup | FittedBow, mesh: str | Mesh = "default") -> str:
    """Every value of a setup with its source, oddities, and what bracing and drawing the bow find.

    Parameters
    ----------
    bow : Setup or FittedBow
        Measured or built. What was changed on a fitted bow is listed among the given values.
    mesh : str or Mesh

    Returns
    -------
    str
        Values as given, derived, assumed or found by the fit, odd ones marked; then the readings, the bow at
        brace and at full draw, the arrow; what is odd once more, warnings last.

    Raises
    ------
    SetupError, ShotError
        Where the setup contradicts itself or no such bow stands.
    """
    from archerysim.equipment import filled, oddities, sources
    from archerysim.equipment.arrow import balance_point, front_of_centre, grains_per_pound, total_mass
    from archerysim.shot.fitted_bow import FittedBow

    fitted = FittedBow.of(bow, mesh)
    curve = fitted.draw_curve()
    setup, changed = listed(fitted), _paths(fitted)
    full = filled(fitted.setup)
    odd = oddities(setup)
    mass = total_mass(full.arrow)
    weight = float(curve.force[-1])
    lines = [f"{setup.name}: category {setup.category}, bow as {setup.form}", *edit_lines(fitted.edits), ""]
    lines += _values(sources(setup), fitted.setup, setup.form, {one.path for one in odd}, curve.warnings, changed)
    lines += titled("Outside what is typical", odd_lines(odd))
    lines += titled("Locators, by the square", readings_of(full, curve.braced))
    lines += titled("Found at brace", braced_lines(curve.braced))
    lines += titled(
        "Found at full draw",
        pairs(
            [
                ("draw length (AMO)", length(curve.draw_length[-1])),
                ("force on the fingers", force(weight)),
                ("stored energy", energy(curve.energy[-1])),
                *strain_rows(curve.strain),
            ]
        ),
    )
    lines += titled(
        "Arrow",
        pairs(
            [
                ("mass", in_both(mass, "gr")),
                ("mass for each pound of draw weight", f"{grains_per_pound(mass, weight):.1f} grains per pound"),
                ("balance point from the throat", length(balance_point(full.arrow))),
                ("front of centre", f"{front_of_centre(full.arrow):.1f} %"),
            ]
        ),
    )
    if fitted.met:
        lines += titled("The fit", fit_lines(fitted))
    if odd:
        lines += titled("Odd here", odd_lines(odd))
    return with_warnings(lines, curve.warnings, len(curve.limits_passed))


def _paths(bow: FittedBow) -> set[str]:
    """The paths that were changed, each limb's own; a row where one of its values was, or all by a factor."""
    from archerysim.equipment import Setup
    from archerysim.fields.paths import resolve

    places = [place for edit in bow.edits for path in edit.changes for place in resolve(Setup, path)]
    return {place.path.rpartition(".")[0] if place.in_row else place.path for place in places}


def listed(bow: FittedBow) -> Setup:
    """The given setup with all changes but those of what only a bow as built has, which the fit's rows show."""
    from archerysim.equipment import with_si
    from archerysim.fields.paths import resolve
    from archerysim.shot.changes import changed

    setup = bow.given
    for edit in bow.edits:
        places = {path: resolve(type(setup), path)[0] for path in edit.changes}
        mine = {path: value for path, value in edit.changes.items()
                if getattr(places[path].field.about, "only", None) in (None, setup.form)
                and not (places[path].in_row and setup.form == "measured" and _found(places[path].path))}  # fmt: skip
        setup = changed(setup, with_si(mine))
    return setup


def _found(path: str) -> bool:
    """Whether one value of a row, or a factor on all, is of what the fit finds."""
    return path.rpartition(".")[0] in FOUND


def _values(
    given: dict[str, Source], built: Setup, form: str, odd: set[str], warnings: tuple[str, ...], changed: set[str]
) -> list[str]:  # fmt: skip
    """All values, table by table; the caution of a field that is given stands under it, once, if not warned of."""
    rows: dict[str, list[tuple[str, str, str]]] = {}
    order = {
        path: (_value_words(path, source.value), _source(source.kind, source.how)) for path, source in given.items()
    }
    if form == "measured":
        from archerysim.equipment import filled

        full = filled(built)
        more = [one for path, names in FOUND_FROM.items() if path in given for one in names]
        for path in (*FOUND, *(f"{limb}.{one}" for limb in ("upper_limb", "lower_limb") for one in more)):
            value = full.get(path) if path.endswith("balance") else built.get(path)
            if value is not None:
                how = "changed" if path in changed else "found by the fit"
                if path in given and given[path].kind != "derived" and not path.endswith("stiffness"):
                    how += f"; {'given' if given[path].kind == GIVEN else given[path].how}: "
                    how += _value_words(path, given[path].value)
                order[path] = (_value_words(path, value), how)
    sideways: list[tuple[str, str, str]] = []
    for path, (shown, how) in _limbs_once(order).items():
        table, _, name = path.rpartition(".")
        mark = ODD if path in odd or path.rstrip(".0123456789") in odd else ""
        if path in SIDEWAYS:
            sideways.append((path, mark + shown, how))
        else:
            rows.setdefault(table or "setup", []).append((name, mark + shown, how))
    lines = []
    said = set(warnings)
    for table in rows:
        lines.append(f"[{table}]")
        for name, shown, how in rows[table]:
            lines += _row(name, shown, how)
            caution = _caution(f"{table}.{name}") if how == GIVEN else ""
            if caution and caution not in said:
                said.add(caution)
                lines += wrapped(caution, " " * 6, " " * 6)
        lines.append("")
    sideways.sort(key=lambda row: SIDEWAYS.index(row[0]))
    return [*lines, BOTH_PLANES, *(line for row in sideways for line in _row(*row)), ""]


def _limbs_once(order: dict[str, tuple[str, str]]) -> dict[str, tuple[str, str]]:
    """The values in words, those of both limbs' tips sideways once where they are alike."""
    out = dict(order)
    for path in SIDEWAYS:
        head, _, name = path.partition(".")
        twins = [f"{limb}.{name}" for limb in ("upper_limb", "lower_limb")]
        if head == "limbs" and order[twins[0]] == order[twins[1]]:
            out[path] = order[twins[0]]
            for twin in twins:
                del out[twin]
    return out


def _row(name: str, shown: str, how: str) -> list[str]:
    """One value, its source to the right, or below where there is no room."""
    start = f"  {name:<28} {shown}"
    if len(start) > 60 or len(how) > WIDTH - 62:
        return [start, *wrapped(how, " " * 31, " " * 31)]
    return [f"{start:<60}  {how}"]


def _caution(path: str) -> str:
    """What has to be minded by whoever changes a field on a real bow; "" for most."""
    from archerysim.equipment import field_info

    return field_info(path.removeprefix("setup.")).caution


def given_cautions(setup: Setup) -> list[str]:
    """What has to be minded by whoever changes on a real bow what a setup gives, each once."""
    from archerysim.equipment import sources

    told = (_caution(path) for path, source in sources(setup).items() if source.kind == GIVEN)
    return list(dict.fromkeys(filter(None, told)))


def _source(kind: str, how: str) -> str:
    return kind if kind == how else f"{kind}: {how}"


def _value_words(path: str, value: Any) -> str:
    """A value of the setup in words, numbers in the unit of their field."""
    from archerysim.equipment import field_info

    unit = field_info(path).unit
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if isinstance(value, (tuple, list)):
        from archerysim.fields.units import from_si

        if len(value) > MOST_LISTED:
            low, high = (f"{from_si(one, unit):.4g}" for one in (min(value), max(value)))
            return f"{len(value)} values, {low} to {high} {unit}".rstrip()
        return f"{', '.join(f'{from_si(one, unit):.4g}' for one in value)} {unit}".rstrip()
    return in_both(value, unit)


def in_both(value: float, unit: str) -> str:
    """A number in ``unit``, lengths, forces and masses in the other system too."""
    from archerysim.fields.units import show

    other = OTHER.get(unit, "")
    return f"{show(value, unit)} ({show(value, other)})" if other and value else show(value, unit)


def odd_lines(odd: list[Oddity]) -> list[str]:
    """What is outside the usual ranges, or that nothing is."""
    if not odd:
        return ["  nothing"]
    return [line for one in odd for line in wrapped(one.words, f"  {ODD}", "      ")]
