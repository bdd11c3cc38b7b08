"""The same run on a cluster: two processes of a dask cluster on this machine."""

from __future__ import annotations

import joblib
import numpy as np
import pytest

from packsim.counts.order import Order
from packsim.scenario import load_scenario

distributed = pytest.importorskip("distributed")


@pytest.mark.all
def test_a_cluster_counts_what_one_process_counts(root) -> None:
    line = load_scenario(root / "tests/trial/small_line.toml")
    order, seen = Order(cans=150, repeats=3, workers=1), []
    here = order.count(line)
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as two,
        distributed.Client(two) as client,
        joblib.parallel_config(backend="dask"),
    ):
        there = order.count(line, lambda done, of: seen.append((done, of)))
        did = client.run(lambda dask_worker: dask_worker.state.transition_counter)
    assert len(did) == 2
    assert min(did.values()) > 0, "a process had nothing to do"
    assert seen[-1] == (here.counted, here.counted)
    assert [run.number for run in there.runs] == [0, 1, 2]
    for one, other in zip(here.runs, there.runs, strict=True):
        assert np.array_equal(one.tips, other.tips)
        assert np.array_equal(one.kicks, other.kicks)
        assert np.array_equal(one.across, other.across)
