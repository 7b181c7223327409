"""A sweep on a real cluster of dask workers in processes of this machine, one of which is killed."""

from __future__ import annotations

import os
import signal

import pytest
import xarray

import archerysim
from tests.support.study import small_sweep
from tests.support.study.shared_sweeps import undated

distributed = pytest.importorskip("distributed", reason="dask.distributed is not installed")
pytestmark = [
    pytest.mark.filterwarnings("ignore"),  # dask's own
    pytest.mark.skipif(os.name != "posix", reason="kills by POSIX signals"),
]


def test_every_row_comes_though_a_worker_is_killed() -> None:
    whole = small_sweep.longer_sweep()
    killed: list[int] = []
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        pids = list(client.run(os.getpid).values())

        def kill(done: int, total: int) -> None:
            if done == 40:
                killed.append(pids[0])
                os.kill(pids[0], signal.SIGKILL)

        data = archerysim.sweep(
            small_sweep.bow(), small_sweep.MORE, mesh="coarse", executor=client.get_executor(), workers=2,
            progress=kill,
        )  # fmt: skip
    assert len(set(pids)) == 2
    assert killed == pids[:1]
    xarray.testing.assert_identical(undated(data), undated(whole))
