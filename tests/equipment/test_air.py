"""The air's record: temperatures and pressures as archers write them."""

from __future__ import annotations

import pytest

from archerysim.equipment import Setup, SetupError, filled, loads, sources
from archerysim.equipment.setup_file import echoes
from tests.support.equipment.setup_texts import MEASURED


@pytest.mark.parametrize(
    ("written", "celsius"), [("20 degC", 20.0), ("-5 °C", -5.0), ("68 degF", 20.0), ("68 °F", 20.0), ("293.15 K", 20.0)]
)
def test_temperatures(measured: Setup, written: str, celsius: float) -> None:
    assert measured.replace(**{"air.temperature": written}).air.temperature == pytest.approx(celsius, abs=1e-12)


def test_temperature_errors(measured: Setup) -> None:
    with pytest.raises(SetupError, match=r"air\.temperature: \"80 degC\" is outside the allowed range -30 degC"):
        measured.replace(**{"air.temperature": "80 degC"})
    with pytest.raises(SetupError, match=r"air\.temperature: .*does not fit"):
        measured.replace(**{"air.temperature": "20 m"})
    with pytest.raises(SetupError, match=r"air\.temperature: 20 has no unit"):
        loads(MEASURED + "[air]\ntemperature = 20\n")


def test_round_trip_is_exact() -> None:
    text = MEASURED + '[air]\ntemperature = "67.3 degF"\npressure = "29.92 inHg"\nhead_wind = "-5 mph"\n'
    setup = loads(text)
    assert loads(setup.to_toml()) == setup
    assert echoes(text)[-1] == "air.temperature: 67.3 degF is read as 19.61 degC"
    assert setup.air.pressure == pytest.approx(101320.0, abs=10.0)
    assert setup.air.head_wind == pytest.approx(-2.2352)


def test_pressure_or_altitude(measured: Setup) -> None:
    assert sources(measured)["air.pressure"].kind == "derived"
    assert filled(measured).air.pressure == pytest.approx(101325.0)
    with pytest.raises(SetupError, match="given together with"):
        loads(MEASURED + '[air]\naltitude = "100 m"\npressure = "990 hPa"\n')
    lower = measured.replace(**{"air.pressure": "990 hPa"})
    assert filled(lower).air.pressure == pytest.approx(99000.0)
    assert filled(lower.replace(**{"air.altitude": "1000 m"})).air.pressure == pytest.approx(89875.0, rel=1e-4)


def test_fletching_is_assumed_by_kind(measured: Setup) -> None:
    vanes, feathers = filled(measured).arrow, filled(measured.replace(**{"arrow.fletching_kind": "feather"})).arrow
    assert (vanes.fletching_kind, vanes.fletching_number) == ("vane", 3)
    assert filled(measured.replace(category="traditional")).arrow.fletching_kind == "feather"
    assert feathers.fletching_length > vanes.fletching_length  # type: ignore[operator]
    assert feathers.fletching_drag > vanes.fletching_drag  # type: ignore[operator]
    given = measured.replace(**{"arrow.fletching_lift_slope": 10.0})
    assert sources(given)["arrow.fletching_lift_slope"].kind == "given"
    with pytest.raises(SetupError, match="is outside the allowed range 3 to 6"):
        measured.replace(**{"arrow.fletching_number": 2})
