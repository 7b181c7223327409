"""Kills a sweep again and again, resumes it each time, and prints what was found, as JSON.

Each is killed some time after it has told of as many points as were drawn, so that on a slow machine too it gets on.

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
from tests.support.study.shared_sweeps import run

OVER = {"nock.locators.reading": "4 mm:11.9 mm:0.1 mm"}  # 80 points
MORE = 1  # points from one kill to the next, on the average


def stored(path: str) -> dict[str, str]:
    with Store(path), closing(sqlite3.connect(path)) as base:
        return dict(base.execute("SELECT key, row FROM shots"))


def shoot_and_tell(path: str, told: int) -> None:
    """A byte for each point, once it is in the store."""
    run(small_sweep.bow(), OVER, workers=1, store=path, progress=lambda done, total: os.write(told, b"."))


def main(path: str, times: int, seed: int) -> None:
    draw = random.Random(seed)
    begin = time.perf_counter()
    whole = small_sweep.sweep(OVER, workers=1)
    a_point = (time.perf_counter() - begin) / whole["status"].size
    counts = []
    kept: dict[str, str] = {}
    for _ in range(times):
        heard, told = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(heard)
            shoot_and_tell(path, told)
            os._exit(0)
        os.close(told)
        for _ in range(len(kept) + draw.randrange(2 * MORE + 1)):
            if not os.read(heard, 1):  # all points are done
                break
        time.sleep(draw.uniform(0.0, 2.0 * a_point))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(heard)
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
