"""Bad setup files: each gets one clear line with field, value, allowed range and remedy."""

from __future__ import annotations

import pytest

from archerysim.equipment import SetupError, loads
from tests.support.equipment.setup_texts import BUILT, MEASURED

# (what, replaced by, message)
CASES = {
    "missing field": ("spine = 700\n", "", 'arrow.spine: missing. Give it, for example spine = "0.600 in"'),
    "missing measured field": (
        'brace_height = "220 mm"\n',
        "",
        'bow.brace_height: missing. Give it, for example brace_height = "220 mm"',
    ),
    "missing table": (MEASURED[MEASURED.index("[archer]") :], "", "archer: missing. Add the table [archer]."),
    "missing form": ('form = "measured"\n', "", 'form: missing. Give it, for example form = "measured"'),
    "missing in a list": ('length = "700 mm"\n', "", "riser.rods.0.length: missing."),
    "no unit": (
        '"220 mm"',
        "220",
        'bow.brace_height: 220 has no unit. Write it with one, for example "220 mm".',
    ),
    "no unit in text": (
        '"220 mm"',
        '"220"',
        'bow.brace_height: 220 has no unit. Write it with one, for example "220 mm".',
    ),
    "wrong unit": (
        '"220 mm"',
        '"220 kg"',
        'bow.brace_height: the unit "kg" does not fit. Use a unit of length: "m"',
    ),
    "mass for a force": (
        '"34 lb"',
        '"34 g"',
        'bow.draw_weight: the unit "g" does not fit. Use a unit of force: "N"',
    ),
    "unknown unit": ('"220 mm"', '"220 mmm"', 'bow.brace_height: the unit "mmm" does not fit.'),
    "unit on a plain number": (
        "strands = 18",
        'strands = "18 mm"',
        'string.strands: the unit "mm" does not fit. Give a plain number.',
    ),
    "out of range": (
        '"220 mm"',
        '"22 mm"',
        'bow.brace_height: "22 mm" is outside the allowed range 100 mm to 400 mm. Check the number and its unit.',
    ),
    "out of range in another unit": (
        '"220 mm"',
        '"22 in"',
        'bow.brace_height: "22 in" = 558.8 mm is outside the allowed range 100 mm to 400 mm.',
    ),
    "not a number": (
        '"220 mm"',
        "nan",
        "bow.brace_height: nan is not a usable number. Give a value from 100 mm to 400 mm.",
    ),
    "not a number in text": ('"220 mm"', '"NaN mm"', 'bow.brace_height: "NaN mm" is not a usable number.'),
    "not a number, no unit wanted": (
        "strands = 18",
        "strands = nan",
        "string.strands: nan is not a usable number.",
    ),
    "infinite": ('"220 mm"', "inf", "bow.brace_height: inf is not a usable number."),
    "yes for a number": ('"220 mm"', "true", "bow.brace_height: True is not a number."),
    "list for a number": ('"220 mm"', '["220 mm"]', "bow.brace_height: ['220 mm'] is not a number."),
    "not whole": ("strands = 18", "strands = 18.5", "string.strands: 18.5 is not a whole number."),
    "number for a word": ('"club"', "3", "category: 3 is not a text. Write it in quotation marks."),
    "unknown word": (
        '"club"',
        '"clubb"',
        'category: "clubb" is not known. Did you mean "club"? Use one of "junior"',
    ),
    "unknown name": (
        "brace_height",
        "brace_hight",
        'bow.brace_hight: unknown name. Did you mean "brace_height"?',
    ),
    "name of old": (
        "strands = 18",
        'strands = 18\nstrand_density = "200 tex"',
        'string.strand_density: unknown name. Did you mean "strand_mass_per_length"?',
    ),
    "unknown table": ("[arrow]", "[arow]", 'arow: unknown name. Did you mean "arrow"?'),
    "unknown limb field": (
        'mass = "165 g"',
        'masss = "165 g"',
        'limbs.masss: unknown name. Did you mean "mass"?',
    ),
    "limb value out of range": (
        '"165 g"',
        '"16 kg"',
        'limbs.mass: "16 kg" = 16000 g is outside the allowed range 20 g to 600 g.',
    ),
    "measured in built": (
        '"measured"',
        '"built"',
        'bow.brace_height: is measured; form = "built" computes it. Remove it or set form = "measured".',
    ),
    "built in measured": (
        'mass = "165 g"',
        'pocket_angle = "12 deg"',
        'upper_limb.pocket_angle: belongs to form = "built"',
    ),
    "string length in measured": (
        "strands = 18",
        'strands = 18\nlength = "1640 mm"',
        "string.length: belongs to form",
    ),
    "reading and place": (
        'reading = "8 mm"',
        'reading = "8 mm"\nplace = "3 mm"',
        "nock.locators.place: given together with "
        "nock.locators.reading, which says the same thing in another way. Keep reading or place, not both.",
    ),
    "neither reading nor place": (
        'reading = "8 mm"\n',
        "",
        "nock.locators.reading: missing. Give reading, or place.",
    ),
    "stiffness and droop": (
        'droop = "0.6 mm"',
        'droop = "0.6 mm"\nstiffness = "800 N/m"',
        "rest.droop: given together with rest.stiffness",
    ),
    "hung mass without droop": (
        'droop = "0.6 mm"',
        'droop_mass = "60 g"',
        "rest.droop: missing: rest.droop_mass",
    ),
    "torque and pressure point": (
        'draw_length = "28 in"',
        'draw_length = "28 in"\ngrip_torque = "1 N m"\npressure_point = "4 mm"',
        "archer.pressure_point: given together with archer.grip_torque",
    ),
    "fibre and stiffness": (
        "strands = 18",
        'strands = 18\naxial_stiffness = "1e5 N"\nmass_per_length = "4 g/m"',
        "string.axial_stiffness: given together with string.material",
    ),
    "fibre without strands": (
        "strands = 18\n",
        "",
        "string.strands: missing: string.material means nothing without it.",
    ),
    "no string": (
        'material = "HMPE"\nstrands = 18\n',
        "",
        "string.material: missing. Give material and strands, or",
    ),
    "mass twice": (
        'mass = "165 g"',
        'mass = "165 g"\nmass_per_length = ["0.3 kg/m", "0.1 kg/m"]',
        "upper_limb.mass_per_length: given together with upper_limb.mass",
    ),
    "width alone": ('mass = "165 g"', 'width = ["40 mm", "20 mm"]', "upper_limb.thickness: missing"),
    "table of another length": (
        'mass = "165 g"',
        'bending_stiffness = ["9 N m^2", "5 N m^2", "2 N m^2"]',
        "upper_limb.bending_stiffness: a table of 3 for 2 places along the limb.",
    ),
    "places not upwards": (
        'mass = "165 g"',
        "at = [0, 0.7, 0.5, 1]",
        "upper_limb.at: [0.0, 0.7, 0.5, 1.0] does not increase",
    ),
    "one value for a table": (
        'mass = "165 g"',
        'bending_stiffness = "9 N m^2"',
        'limbs.bending_stiffness: "9 N m^2" is one value where a row is needed.',
    ),
    "empty table": ('mass = "165 g"', "at = []", "limbs.at: the list is empty."),
    "shares that do not make one": (
        'draw_length = "28 in"',
        'draw_length = "28 in"\nfinger_shares = [0.3, 0.5, 0.3]',
        "archer.finger_shares: [0.3, 0.5, 0.3] add up to 1.1, not 1.",
    ),
    "two shares": (
        'draw_length = "28 in"',
        'draw_length = "28 in"\nfinger_shares = [0.5, 0.5]',
        "archer.finger_shares: 2 values given where 3 are needed.",
    ),
    "fingers out of order": (
        'draw_length = "28 in"',
        'draw_length = "28 in"\nfinger_places = ["14 mm", "-32 mm", "-14 mm"]',
        "archer.finger_places: 14 mm, -32 mm, -14 mm do not go down the string.",
    ),
    "floor longer than the nock": (
        'height = "5.8 mm"',
        'height = "5.8 mm"\nfloor = "7 mm"',
        "nock.floor: 7 mm is more than nock.height, 5.8 mm.",
    ),
    "fletching beyond the shaft": (
        'length = "720 mm"',
        'length = "410 mm"\nfletching_at = "0.25 m"\npoint_at = "151 mm"',
        "arrow.point_at: ",
    ),
    "limits the wrong way round": (
        "[archer]",
        '[limits]\nbrace_height_low = "240 mm"\nbrace_height_high = "200 mm"\n[archer]',
        "limits.brace_height_low: 240 mm is above limits.brace_height_high, 200 mm.",
    ),
    "list for a table": ("[bow]", "[[bow]]", "bow: a table is needed, not"),
    "table for a list": ("[[riser.rods]]", "[riser.rods]", "riser.rods: a list of tables is needed, not"),
    "not TOML": ("name =", "name", "this is not a TOML file: Expected '='"),
}


@pytest.mark.parametrize("case", CASES)
def test_message(case: str) -> None:
    old, new, message = CASES[case]
    assert MEASURED.count(old) >= 1
    with pytest.raises(SetupError) as caught:
        loads(MEASURED.replace(old, new, 1))
    text = str(caught.value)
    assert text.startswith(message), text
    assert "\n" not in text
    assert isinstance(caught.value, ValueError)


@pytest.mark.parametrize("value", ['"x"', "3", "[1]"])
def test_both_limbs_want_a_table(value: str) -> None:
    text = MEASURED.replace('[limbs]\nmass = "165 g"\n', "")
    with pytest.raises(SetupError, match=r"^limbs: a table is needed"):
        loads(f"limbs = {value}\n" + text)


@pytest.mark.parametrize(
    ("old", "message"),
    [
        (
            'pocket_angle = "10 deg"\n',
            'upper_limb.pocket_angle: missing. Give it, for example pocket_angle = "12 deg"',
        ),
        ('length = "1485.69 mm"\n', 'string.length: missing. Give it, for example length = "1640 mm"'),
        (
            'bending_stiffness = ["23.0 N m^2", "5.4 N m^2"]\n',
            'upper_limb.bending_stiffness: missing: form = "built" needs the limb\'s stiffness.',
        ),
    ],
)
def test_what_a_built_bow_needs(old: str, message: str) -> None:
    with pytest.raises(SetupError) as caught:
        loads(BUILT.replace(old, ""))
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize("name", ["draw_weight_at", "pocket_angle", "stiffness_ratio"])
def test_other_measured_fields_are_refused_in_a_built_bow(name: str) -> None:
    value = {"draw_weight_at": '"28 in"', "pocket_angle": '"12 deg"', "stiffness_ratio": "1.0"}[name]
    with pytest.raises(SetupError, match=rf'^bow\.{name}: belongs to form = "measured"'):
        loads(BUILT.replace('length = "62 in"', f'length = "62 in"\n{name} = {value}'))


def test_a_name_one_table_too_far_out_is_told_where_it_belongs() -> None:
    with pytest.raises(SetupError, match=r"nock\.reading: unknown name\. It belongs in the table \[nock\.locators\]"):
        loads('name = "x"\ncategory = "club"\nform = "measured"\n[nock]\nreading = "8 mm"\n')
