"""Measured data from CSV: units in the header, exact round trip, bad cells told with file, row, column and value."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.study.measured.data import DrawForce, OwnData, Speeds, Track


def written(folder: Path, text: str, name: str = "data.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_units_are_the_header_s(tmp_path: Path) -> None:
    plain = DrawForce.read(written(tmp_path, "draw_length [in],force [lb]\n20,18.5\n27 1/4,32\n"))
    assert plain.draw_length == (0.508, 0.69215)
    assert plain.force == pytest.approx((18.5 * 4.4482216152605, 32 * 4.4482216152605), rel=1e-15)
    other = DrawForce.read(written(tmp_path, "# by hand\n\nForce [kg];Draw length [cm]\n8.5;50.8\n"))
    assert other.draw_length == (0.508,)
    assert other.force == pytest.approx((8.5 * 9.80665,), rel=1e-15)
    assert len(plain) == 2


def test_gaps_of_a_track_are_not_seen(tmp_path: Path) -> None:
    track = Track.read(written(tmp_path, "time [ms],nock_y [mm],point_y [mm]\n0,63.5,\n0.5,,42\n"))
    assert track.nock_x == ()
    assert track.time == (0.0, 0.0005)
    assert track.nock_y[0] == 0.0635
    assert math.isnan(track.nock_y[1])
    assert math.isnan(track.point_y[0])
    assert track.rows().keys() == {"time", "nock_y", "point_y"}


@pytest.mark.parametrize(
    "data",
    [
        DrawForce.with_si((0.1 + 0.2, 28 * 0.0254, 0.7), (math.pi * 20, 34 * 4.4482216152605, 1e2 / 3)),
        Speeds.with_si((0.019, 0.0251), (48.1234567890123, 44.3)),
        Speeds.with_si((0.019,), (48.0,), (2.0,)),
        Track.with_si((-0.001, 0.0, 1 / 3000), (-0.66, -1 / 3, 0.0), (0.06, 0.05, 0.04)),
    ],
)
def test_a_file_read_again_is_the_same(data: DrawForce | Speeds | Track, tmp_path: Path) -> None:
    path = tmp_path / "data.csv"
    data.write(path)
    assert type(data).read(path) == data
    assert path.read_text(encoding="utf-8").splitlines()[0].count("[") == len(data.rows())


def test_all_three_at_once(tmp_path: Path) -> None:
    speeds = written(tmp_path, "arrow_mass [gr],speed [fps]\n300,158\n", "speeds.csv")
    data = OwnData.read(speeds=speeds)
    assert data.draw_force is None
    assert data.speeds == Speeds.with_si((0.019439673,), (48.1584,))
    with pytest.raises(SetupError, match="nothing was measured"):
        OwnData()


HEAD = "draw_length [in],force [lb]\n"
BAD = {
    "not a number": (HEAD + "20,18\n22,2x\n", r"^data\.csv, row 3, force: .*2x.*allowed is 0 lbf to 200 lbf"),
    "a decimal comma": ("draw_length [in];force [lb]\n20,5;18\n", r"row 2, draw_length: .*Write decimals with a point"),
    "a unit in the cell": (HEAD + "20,18 lb\n", r'row 2, force: "18 lb" is not a plain number; allowed is'),
    "out of range": (HEAD + "40,30\n", r'row 2, draw_length: "40 in" is outside the allowed range 5 in to 36 in'),
    "not finite": (HEAD + "20,nan\n", r"row 2, force: .*nan.*not a plain number; allowed is"),
    "empty cell": (HEAD + "20,\n", r"row 2, force: the cell is empty; allowed is 0 lbf to 200 lbf"),
    "too few cells": (HEAD + "20\n", r"row 2: it has 1 cells, the header has 2"),
    "no unit": ("draw_length,force [lb]\n20,18\n", r'"draw_length" has no unit\. Write it as "draw_length \[in\]"'),
    "wrong unit": ("draw_length [kg],force [lb]\n20,18\n", r'header: "draw_length \[kg\]": the unit "kg" does not fit'),
    "unknown column": ("draw [in],force [lb]\n20,18\n", r'header: "draw \[in\]" is not a column known here'),
    "column missing": ("draw_length [in]\n20\n", r'header: there is no column "force"'),
    "twice": ("force [lb],force [N]\n1,2\n", r'"force" appears twice'),
    "no rows": (HEAD, "it has a header and no rows"),
    "empty": ("", "it is empty"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_bad_draw_force(case: str, tmp_path: Path) -> None:
    text, said = BAD[case]
    with pytest.raises(SetupError, match=said) as caught:
        DrawForce.read(written(tmp_path, text))
    assert "data.csv" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_bad_tracks(tmp_path: Path) -> None:
    with pytest.raises(SetupError, match=r"^data\.csv: the times do not rise"):
        Track.read(written(tmp_path, "time [ms],nock_y [mm]\n0,1\n0,2\n"))
    with pytest.raises(SetupError, match=r"row 2, time: the cell is empty"):
        Track.read(written(tmp_path, "time [ms],nock_y [mm]\n,1\n"))
    with pytest.raises(SetupError, match="a time and nothing else"):
        Track.read(written(tmp_path, "time [ms]\n1\n"))


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(SetupError, match=r"none\.csv cannot be read"):
        Speeds.read(tmp_path / "none.csv")
    (tmp_path / "data.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SetupError, match="is not UTF-8 text"):
        Speeds.read(tmp_path / "data.csv")


def test_spoiled_files_give_one_line(tmp_path: Path) -> None:
    """Letters changed, doubled or taken out at random: data or one SetupError, nothing else."""
    rng = np.random.default_rng(3)
    good = "time [ms],nock_x [mm],nock_y [mm],point_y [mm]\n0,-660,63,42\n0.5,-659.5,,42.1\n1,-658,63.2,\n"
    letters = '0 9e.,;[]"#\n\x00-µé\t'
    told: list[str] = []
    for _ in range(150):
        text = list(good)
        for _ in range(int(rng.integers(1, 4))):
            at, letter = int(rng.integers(len(text))), letters[int(rng.integers(len(letters)))]
            text[at] = ("", letter, text[at] * 2, letter * 200_000)[int(rng.choice(4, p=[0.3, 0.4, 0.29, 0.01]))]
        try:
            Track.read(written(tmp_path, "".join(text)))
        except SetupError as error:
            told.append(str(error))
    assert 30 < len(told) < 150
    assert all(len(one.splitlines()) == 1 and len(one) < 3000 for one in told)
