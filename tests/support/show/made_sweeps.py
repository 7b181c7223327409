"""Sweeps made by hand, whose tables and pictures are known beforehand; nothing is shot."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.shot.warnings import NONE


def made_sweep(
    readings: tuple[float, ...] = (4.0, 6.0, 8.0, 10.0, 12.0),
    others: tuple[Any, ...] | None = None,
    failed: tuple[int, ...] = (),
    events: dict[int, str] | None = None,
    warnings: dict[int, tuple[str, str]] | None = None,
    **attrs: Any,
) -> Any:
    """A sweep over the reading, and over the crawl if ``others`` are given, of plain straight lines.

    ``warnings`` are, for a point, its limits passed and its sentences; else all points have one light arrow.
    Angle of attack at clear is (8.5 - reading) / 10 + other / 100, at separation 0.3 more; pitch twice it.
    """
    import xarray

    h = np.array(readings)
    other = np.zeros(1) if others is None else np.arange(float(len(others)))
    clear = (8.5 - h[:, None]) / 10.0 + other / 100.0
    both = np.stack((clear + 0.3, clear), axis=-1)
    dims: tuple[str, ...] = ("nock_locators_reading", "archer_crawl", "moment")
    status = np.zeros(clear.shape, dtype=int)
    told = np.full(clear.shape, "", dtype=object)
    reason = np.full(clear.shape, "", dtype=object)
    for k in failed:
        both[k], status[k], reason[k] = np.nan, 3, "draw: no such shape"
    for k, text in (events or {}).items():
        told[k] = text
    coords: dict[str, Any] = {
        dims[0]: (dims[0], h, {"units": "mm", "long_name": "locator height", "path": "nock.locators.reading"}),
        "moment": ["separation", "clear"],
    }
    if others is None:
        both, status, told, reason, dims = both[:, 0], status[:, 0], told[:, 0], reason[:, 0], (dims[0], dims[2])
    else:
        units = {"units": "mm"} if others[0] != "no" else {}
        coords[dims[1]] = (dims[1], list(others), {**units, "path": "archer.crawl"})
    data = {
        name: (dims, factor * both, {"units": unit, "long_name": name})
        for name, unit, factor in (
            ("pitch", "degree", 2.0),
            ("pitch_rate", "rad s-1", 1.0),
            ("vertical_velocity", "m s-1", 1.0),
            ("angle_of_attack", "degree", 1.0),
        )
    }
    data["reading_top"] = (
        dims[:-1],
        np.broadcast_to((h + 5.8).reshape(-1, *[1] * (len(dims) - 2)), status.shape),
        {"units": "mm"},
    )
    data["status"], data["reason"], data["events"] = (dims[:-1], status), (dims[:-1], reason), (dims[:-1], told)
    data["warnings"] = (dims[:-1], np.full(status.shape, "Light arrow: 5.5 grains per pound.", dtype=object))
    if warnings is not None:
        passed, texts = np.full(status.shape, "", dtype=object), np.full(status.shape, NONE, dtype=object)
        for k, (names, sentences) in warnings.items():
            passed[k], texts[k] = names, sentences
        data["limits_passed"], data["warnings"] = (dims[:-1], passed), (dims[:-1], texts)
    return xarray.Dataset(data, coords, {"title": "launch of a bow", "held": "string kept", **attrs})
