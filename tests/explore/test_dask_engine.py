"""The Dask engine gives what the others give, and says so when it cannot."""

import pytest
from distributed import LocalCluster

from optimizer.errors import BadInput
from optimizer.explore.dask_engine import Dask
from optimizer.explore.engine import Serial
from tests.explore.work import add

TASKS = list(range(6))


def test_a_cluster_gives_what_one_process_gives():
    with LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        done = list(Dask(cluster.scheduler_address).run(add, 100, TASKS))
    serial = list(Serial().run(add, 100, TASKS))
    assert {d.index: d.value for d in done} == {d.index: d.value for d in serial}


def test_a_cluster_without_workers_is_refused(monkeypatch):
    monkeypatch.setattr("optimizer.explore.dask_engine.PATIENCE_S", 0.5)
    cluster = LocalCluster(n_workers=0, processes=False, dashboard_address=None)
    with cluster, pytest.raises(BadInput, match="No worker at"):
        Dask(cluster.scheduler_address)


def test_a_scheduler_that_is_not_there_is_named(monkeypatch):
    monkeypatch.setattr("optimizer.explore.dask_engine.PATIENCE_S", 0.2)
    with pytest.raises(BadInput, match=r"Nobody answers at tcp://127.0.0.1:9"):
        Dask("tcp://127.0.0.1:9")
