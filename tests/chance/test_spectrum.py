"""The spectrum against direct sums of the energies it was made of."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse import csr_array

from packsim.chance.spectrum import SURE, Spectrum, shared_out

STAGES = ("wash", "rinse")


@pytest.fixture(scope="module")
def energies() -> np.ndarray:
    """By repeat, stage, lane and place: 40 barriers of one kick each."""
    rng = np.random.default_rng(3)
    return 0.13 * np.exp(rng.uniform(0.0, 2.0, (3, 2, 4, 3, 40)))


@pytest.fixture(scope="module")
def spectrum(energies) -> Spectrum:
    repeats = []
    for one in energies:
        tables = []
        for stage in one:
            rows = np.repeat(np.arange(12), 40)
            bins, weight = shared_out(stage.ravel(), np.ones(480))
            where = (np.tile(rows, 2), bins)
            tables.append(csr_array((weight, where), shape=(12, SURE + 1)))
        repeats.append(tuple(tables))
    return Spectrum.of(STAGES, np.full(4, 0.25), repeats)


@pytest.mark.parametrize("kick", [0.13 / 25.0, 0.02, 0.13, 5.0])
def test_the_transform_is_the_direct_sum_within_one_percent(spectrum, energies, kick) -> None:
    """At E/E_k = 25 one kick in 10^11 tips, one can in 10^9 that gets a hundred kicks."""
    direct = np.exp(-energies / kick).sum(axis=-1)
    for i, name in enumerate(STAGES):
        got = spectrum.expected(name, kick)[..., 0]
        assert np.all(got >= direct[:, i] * (1 - 1e-12))  # convex: never too small
        assert got == pytest.approx(direct[:, i], rel=0.01)


def test_no_kick_tips_nothing_and_an_endless_one_tips_always(spectrum) -> None:
    assert np.all(spectrum.expected("wash", 0.0) == 0.0)
    assert spectrum.expected("wash", 1e9) == pytest.approx(np.full((3, 4, 3, 1), 40.0))


def test_the_rate_scales_the_expected_tips(spectrum) -> None:
    once, twice = (spectrum.expected("rinse", 0.02, rate) for rate in (1.0, 2.0))
    assert twice == pytest.approx(2.0 * once, rel=1e-12)


def test_a_can_tips_once(spectrum) -> None:
    kicks = {"wash": 0.13, "rinse": 0.2}
    tips = spectrum.tips(kicks)[..., 0]
    lane = np.stack([spectrum.expected(s, kicks[s])[..., 0].sum(axis=2) for s in STAGES], axis=1)
    stands = np.exp(-lane.sum(axis=1))
    assert tips.sum(axis=(1, 3)) == pytest.approx(1.0 - stands, rel=1e-12)
    assert tips[:, 0].sum(axis=2) == pytest.approx(-np.expm1(-lane[:, 0]), rel=1e-12)
