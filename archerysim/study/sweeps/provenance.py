"""Where a table of results comes from, as the attributes of its file: the CF conventions' and our own."""

from __future__ import annotations

import platform
from datetime import UTC, datetime
from functools import cache
from importlib.metadata import version
from typing import Any

from archerysim.equipment import Setup
from archerysim.shot.physics_hash import physics_version
from archerysim.version import VERSION

CONVENTIONS = "CF-1.11"
MODELS = {1: "a planar model", 2: "a model, in both planes,"}
SOURCE = "archerysim {version}: computed by {model} of bow, string, arrow and archer"
DATED = ("date_created", "history")  # the attributes that differ between two runs of the same


@cache  # read from the packages on disk, and the same as long as the process lives
def _versions() -> dict[str, str]:
    others = {f"{name}_version": version(name) for name in ("numpy", "scipy", "numba")}
    return {"archerysim_version": VERSION, "python_version": platform.python_version(), **others}


def provenance(title: str, setup: Setup, what: str, planes: int) -> dict[str, Any]:
    """Global attributes: title, source, history, date (UTC), versions, hash of the physics, planes, setup as given.

    Parameters
    ----------
    title : str
    setup : Setup
        As the user gave it.
    what : str
        What was done, for the history.
    planes : int
        In how many planes the shots are.
    """
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    return {
        "Conventions": CONVENTIONS,
        "title": title,
        "source": SOURCE.format(version=VERSION, model=MODELS[planes]),
        "history": f"{now}: archerysim {VERSION}, {what}",
        "date_created": now,
        **_versions(),
        "physics_hash": physics_version(),
        "planes": planes,
        "setup": setup.to_toml(),
    }
