"""Kills a sweep again and again, resumes it each time, and prints what was found, as JSON.

python -m tests.support.study.killed_sweep STORE TIMES SEED
"""

from __future__ import annotations

import json
import os
import random
import signal
import sqlite3
import sys
import time
from contextlib import closing
from typing import Any

from archerysim.study.run.row import LaunchNumbers
from archerysim.study.run.store import Store, key_maker
from tests.support.study import small_sweep

OVER = {"nock.locators.reading": "4 mm:11.9 mm:0.1 mm"}  # 80 points


def stored(path: str) -> dict[str, str]:
    with Store(path), closing(sqlite3.connect(path)) as base:
        return dict(base.execute("SELECT key, row FROM shots"))


def main(path: str, times: int, seed: int) -> None:
    draw = random.Random(seed)
    begin = time.perf_counter()
    whole = small_sweep.sweep(OVER, workers=1)
    took = time.perf_counter() - begin
    counts = []
    kept: dict[str, str] = {}
    for _ in range(times):
        child = os.fork()
        if child == 0:
            small_sweep.sweep(OVER, workers=1, store=path)
            os._exit(0)
        time.sleep(draw.uniform(0.0, 2.0 * took / times))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        now = stored(path)
        assert kept.items() <= now.items(), "a stored row was lost or changed"
        kept = now
        counts.append(len(kept))
    key = key_maker(small_sweep.base(), LaunchNumbers())
    for index, reading in enumerate(whole["nock_locators_reading"].values):
        row: dict[str, Any] = json.loads(kept.get(key({"nock.locators.reading": _as_given(index)}), "{}"))
        assert not row or row["pitch"] == whole["pitch"].values[index].tolist(), reading
    data = small_sweep.sweep(OVER, workers=1, store=path)
    attributes = data.attrs
    print(json.dumps({
        "counts": counts, "same": data.equals(whole), "points": data["status"].size,
        "read": attributes["points_read"], "computed": attributes["points_computed"],
    }))  # fmt: skip


def _as_given(index: int) -> float:
    from archerysim.study.run.points import points_of

    return float(points_of(OVER, None, small_sweep.base())[index]["nock.locators.reading"])


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
