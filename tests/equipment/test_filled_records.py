"""The filled records beside the records that they are made from, field by field."""

from __future__ import annotations

from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

import pytest

from archerysim import equipment
from archerysim.equipment import (
    BuiltSetup,
    FilledSetup,
    Limits,
    MeasuredSetup,
    Setup,
    SetupError,
    filled,
    filled_as_built,
    filled_as_measured,
)
from archerysim.equipment import filled_records as records
from archerysim.equipment.filled_records import Filled
from archerysim.equipment.setup import tied_to_form
from archerysim.fields.record import Record, fields_of

# What each is made from; a built or a measured one has more of its fields.
MADE_FROM: dict[type[Filled], type[Record]] = {
    records.FilledBow: equipment.Bow,
    records.FilledLimb: equipment.Limb,
    records.FilledLamination: equipment.Lamination,
    records.FilledRiser: equipment.Riser,
    records.FilledRod: equipment.Rod,
    records.FilledString: equipment.String,
    records.FilledRest: equipment.Rest,
    records.FilledSide: equipment.Side,
    records.FilledNock: equipment.Nock,
    records.FilledLocators: equipment.Locators,
    records.FilledArrow: equipment.Arrow,
    records.FilledArcher: equipment.Archer,
    records.FilledAir: equipment.Air,
}

# Fields that only lead to others, and limits: asked of the given setup.
LEFT_OUT: dict[type[Record], frozenset[str]] = {
    equipment.Bow: frozenset({"draw_forces", "draw_forces_at"}),
    equipment.Limb: frozenset(
        {
            "stations",
            "material",
            "strain_limit",
            "balance",
            "shape",
            "tip_forward",
            "tip_angle",
            "middle_angle",
            "profile_x",
            "profile_y",
        }
    ),
    equipment.Lamination: frozenset({"material", "strain_limit"}),
    equipment.String: frozenset({"material", "construction_factor", "strand_mass_per_length"}),
    equipment.Rest: frozenset({"droop", "droop_mass"}),
    equipment.Air: frozenset({"altitude"}),
}

FORMS: dict[type[Filled], dict[str, type[Filled]]] = {
    records.FilledBow: {"measured": records.MeasuredBow},
    records.FilledLimb: {"built": records.BuiltLimb},
    records.FilledRiser: {"built": records.BuiltRiser},
    records.FilledString: {"built": records.BuiltString},
    records.FilledLocators: {"reading": records.ReadLocators, "place": records.TiedLocators},
}
OF_THE_FIT = {"split_from": "measured"}  # a word that one form of setup only may give
FOUND_BY_THE_FIT = {"upper_root_x", "lower_root_x"}  # derived in form "built", refused in the other
RECORDS: dict[Any, Any] = {made: kind for kind, made in MADE_FROM.items()}


def hints(kind: type) -> dict[str, Any]:
    return {name: hint for name, hint in get_type_hints(kind).items() if name in kind.__struct_fields__}  # type: ignore[attr-defined]


def without_none(hint: Any) -> Any:
    if get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    if get_origin(hint) in (Union, UnionType):
        parts = [part for part in get_args(hint) if part is not NoneType]
        return parts[0] if len(parts) == 1 else hint
    return hint


def wanted(hint: Any) -> Any:
    """Type of a filled field for that of a record's: the filled records in place of the others."""
    hint = without_none(hint)
    if hint is equipment.Locators:
        return records.ReadLocators | records.TiedLocators
    if get_origin(hint) is tuple and get_args(hint)[0] in RECORDS:
        return tuple[RECORDS[get_args(hint)[0]], ...]
    return RECORDS.get(hint, hint)


def own_fields(record: type[Record], form: str) -> list[str]:
    """The fields of a record that its filled one of a form has to have, in order."""
    tied = {item.name: about.only or about.required for item, about in tied_to_form(record)}
    tied |= dict.fromkeys(FOUND_BY_THE_FIT, "built") | OF_THE_FIT
    tied |= {"reading": "reading", "place": "place"} if record is equipment.Locators else {}
    return [
        name for name in fields_of(record)
        if name not in LEFT_OUT.get(record, ()) and (name not in tied or tied[name] == form)
    ]  # fmt: skip


@pytest.mark.parametrize(("filled_kind", "record"), MADE_FROM.items(), ids=lambda kind: kind.__name__)
def test_a_filled_record_has_the_fields_of_its_record(filled_kind: type[Filled], record: type[Record]) -> None:
    assert list(filled_kind.__struct_fields__) == own_fields(record, "")
    for form, kind in FORMS.get(filled_kind, {}).items():
        assert issubclass(kind, filled_kind)
        assert set(kind.__struct_fields__) == set(own_fields(record, form))
        more = [name for name in fields_of(record) if name in kind.__annotations__]
        assert [name for name in kind.__annotations__ if name in kind.__struct_fields__] == more


@pytest.mark.parametrize(("filled_kind", "record"), MADE_FROM.items(), ids=lambda kind: kind.__name__)
def test_a_filled_field_is_of_its_records_type_and_never_missing(
    filled_kind: type[Filled], record: type[Record]
) -> None:
    given = get_type_hints(record, include_extras=True)
    for kind in (filled_kind, *FORMS.get(filled_kind, {}).values()):
        for name, hint in hints(kind).items():
            assert hint == wanted(given[name]), f"{kind.__name__}.{name}"
            assert NoneType not in get_args(hint)


def test_a_filled_setup_has_the_records_of_a_setup() -> None:
    names = [name for name, item in fields_of(Setup).items() if item.record is not Limits]
    assert list(FilledSetup.__struct_fields__) == ["given", *names]
    for kind in (FilledSetup, MeasuredSetup, BuiltSetup):
        assert set(kind.__struct_fields__) == set(FilledSetup.__struct_fields__)
        for name, hint in hints(kind).items():
            item = fields_of(Setup).get(name)
            if item is not None and item.record is not None:
                assert issubclass(hint, RECORDS[item.record]), f"{kind.__name__}.{name}"


def test_every_record_of_a_setup_has_a_filled_one() -> None:
    todo, seen = [Setup], set()
    while todo:
        seen.add(todo[-1])
        todo += [item.record for item in fields_of(todo.pop()).values() if item.record and item.record not in seen]
    assert seen - {Setup, Limits, equipment.StringMass} == set(MADE_FROM.values())  # of a small mass all is given
    assert all(item.needed for item in fields_of(equipment.StringMass).values())


def test_filled_as_one_form_refuses_the_other(measured: Setup, built: Setup) -> None:
    assert type(filled(measured)) is MeasuredSetup
    assert type(filled(built)) is BuiltSetup
    assert (filled_as_measured(measured), filled_as_built(built)) == (filled(measured), filled(built))
    for fill, other in ((filled_as_measured, built), (filled_as_built, measured)):
        with pytest.raises(SetupError, match=r"^form: "):
            fill(other)


def test_values_by_path(measured: Setup) -> None:
    rods = [{"length": "700 mm", "end_mass": "100 g"}]
    setup = measured.replace(**{"riser.rods": rods, "limits.longest_draw": "29 in"})
    full = filled(setup)
    assert full.get("riser.rods.0.start_x") == 0.03
    assert full.get("riser.rods") == full.riser.rods
    assert full.get("limits.longest_draw") == pytest.approx(29 * 0.0254)
    assert full.get("limits") == setup.limits
    assert full.get("limbs.at.1") == 1.0
    assert full.get("name") == setup.name
    for path in ("riser.rods.1.start_x", "limbs.at.2", "bow.colour", "form.x"):
        with pytest.raises(SetupError):
            full.get(path)
    with pytest.raises(SetupError, match="the two limbs differ"):
        filled(setup.replace(**{"upper_limb.mass": "150 g"})).get("limbs.mass")
    with pytest.raises(SetupError, match="has no value"):
        full.number("string.length")
    with pytest.raises(SetupError, match="is not one number"):
        full.number("archer.finger_shares")
