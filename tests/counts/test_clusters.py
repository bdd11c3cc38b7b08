"""Tips in clusters: told from events, and intervals that hold as often as they say."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.counts.clusters import Cluster, clusters_of
from packsim.counts.intervals import dispersion_of, poisson_interval
from packsim.counts.many import Line, run_many
from packsim.line import Kicks
from packsim.passage.record import Event
from packsim.passage.track import build_track
from tests.passage.conftest import CAN


def tip(can: int, at_mm: float, beside: int = -1) -> Event:
    return Event(
        time_s=0.1 * can, can=can, stage=0, place="centre", x_mm=0.0, y_mm=0.0, direction_rad=0.0,
        energy_mJ=1.0, needed_mJ=0.5, mat_mm=at_mm, beside=beside,
    )  # fmt: skip


def test_tips_beside_one_another_are_one_cluster() -> None:
    events = (tip(1, 100.0), tip(7, 900.0), tip(3, 40.0, 1), tip(5, -20.0, 3), tip(9, 0.0, 99))
    found = clusters_of(events, 66.0)
    assert found == (Cluster(3, 186.0), Cluster(1, 66.0), Cluster(1, 66.0))


def test_a_cluster_over_the_seam_of_a_slice_is_short() -> None:
    assert clusters_of((tip(1, 990.0), tip(2, 30.0, 1)), 66.0, 1000.0) == (Cluster(2, 106.0),)


@given(st.lists(st.tuples(st.integers(-1, 30), st.floats(0, 900)), max_size=30))
def test_every_tip_is_in_one_cluster(tips) -> None:
    events = [tip(i, at, beside) for i, (beside, at) in enumerate(tips)]
    assert sum(cluster.tips for cluster in clusters_of(events, 66.0)) == len(events)


def test_single_events_are_not_dispersed_and_clusters_of_one_size_by_that_size() -> None:
    assert dispersion_of([], []) == dispersion_of([0, 0], []) == 1.0
    assert dispersion_of([3], [1, 1, 1]) == 1.0
    assert dispersion_of([12], [3, 3, 3, 3]) == 3.0
    assert dispersion_of([0, 40, 0, 40], [1] * 80) == pytest.approx(80.0 / 3.0)


def test_the_dispersion_is_only_found_between_repeats_where_chance_would_hardly_make_it() -> None:
    rng = np.random.default_rng(4)
    draws = rng.poisson(6.0, (2000, 12))
    found = [dispersion_of(row.tolist(), [1] * int(row.sum())) > 1.0 for row in draws]
    assert 0.03 < np.mean(found) < 0.07


@pytest.mark.parametrize(("first", "further"), [(2.0, 0.0), (3.0, 0.5), (6.0, 1.0), (9.0, 2.0)])
@pytest.mark.parametrize("repeats", [1, 8])
def test_intervals_hold_the_mean_of_clustered_counts(first, further, repeats) -> None:
    """Clusters of one first tip and a Poisson number of further ones; the mean must be inside.

    Where less than some five clusters are expected they may hide: none seen is no size seen.
    """
    rng, held, tries = np.random.default_rng(12), 0, 1500
    mean = repeats * first * (1.0 + further)
    for _ in range(tries):
        sizes = [1 + rng.poisson(further, rng.poisson(first)) for _ in range(repeats)]
        counts = [int(size.sum()) for size in sizes]
        clusters = np.concatenate(sizes).tolist()
        low, high = poisson_interval(sum(counts), 0.95, dispersion_of(counts, clusters))
        held += low <= mean <= high
    assert held / tries > 0.92


def test_a_run_tells_its_clusters_and_one_with_a_leaning_can_has_further_tips(line) -> None:
    kicks = Kicks(0.6, 2.0, 0.3, 4.0)
    track = build_track(line(4, (46.0,), length=1500.0, kicks=kicks, state="slack"), CAN)
    (found,) = run_many([Line(CAN.name, 5, track)], cans=60, repeats=3)
    assert sum(cluster.tips for cluster in found.clusters) == found.tips.sum() > 0
    assert found.dispersion >= 1.0
    further = int(found.tips.sum()) - len(found.clusters)
    assert found.further_tips_per_first == pytest.approx(further / len(found.clusters))
    low, high = found.tips_per_million_interval
    exact = poisson_interval(int(found.tips.sum()))
    assert low <= 1e6 * exact[0] / found.counted
    assert high >= 1e6 * exact[1] / found.counted
    assert math.isfinite(found.disturbed_mm)
