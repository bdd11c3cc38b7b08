"""The load by place: closed form without sprays, mirror pictures, and sums over single nozzles."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import cumulative_trapezoid

from packsim.can import Can
from packsim.line import Header, Kicks, Nozzle, Scenario
from packsim.passage.standing import Standing, shaking_of, standing_of
from packsim.scenario import load_scenario
from packsim.spray.grids import _one_after_the_other
from packsim.spray.leaning import lean_nodes_rad, tipped_under_load, tipping_moment_N_mm
from packsim.spray.least_energy import least_in
from packsim.spray.spray_load import stretches_under
from packsim.spray.under_headers import _raised_mJ, worst_water
from packsim.tipping.part_way import part_of_energy_mJ, righting

SHARES = np.linspace(0.0, 1.0, 21)


def most_rad(can: Can) -> float:
    return max(can.stance(share).balance_angle_rad for share in (0.0, 1.0))


def direct(
    headers: tuple[Header, ...],
    can: Can,
    share: float,
    open_fraction: float,
    *where: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Balance angle and energy from sums over every nozzle at the very place."""
    leans = lean_nodes_rad(most_rad(can))
    moment = tipping_moment_N_mm(headers, can.stance(), open_fraction, *where, leans)
    return tipped_under_load(moment, leans, can.stance(share))


def sprayed(small: SimpleNamespace, *headers: Header, **given: object) -> Scenario:
    return small.line(small.stage(headers=headers, length_mm=2000.0, **given))


def asked(standing: Standing, x, y, turn) -> tuple[np.ndarray, np.ndarray]:
    return standing.load.at(*(np.atleast_1d(np.asarray(v, dtype=float)) for v in (x, y, turn)))


@given(st.floats(0.0, 2000.0), st.floats(0.0, 1000.0), st.floats(-9.0, 9.0), st.floats(0.0, 1.0))
def test_without_sprays_weight_alone_rights_a_can(small, x, y, turn, share) -> None:
    """Balance at atan(R / h), energy weight times the rise of the centre of gravity."""
    line = sprayed(small, water_in_dome=(share, share))
    can = line.sizes[0]
    stance = can.stance(share)
    balance, energy = asked(standing_of(line, can), x, y, turn)
    rise = math.hypot(30.0, stance.cg_mm) - stance.cg_mm
    assert balance[0] == pytest.approx(math.atan2(30.0, stance.cg_mm), rel=1e-12)
    assert energy[0] == pytest.approx(stance.weight_N * rise, rel=1e-12)


def test_headers_a_rounding_apart_make_stretches_that_are_equal(small) -> None:
    """Else what sprays do there is worked out for each: places along a stage round otherwise."""
    at = (171.3, 171.3 + 1000.1, 171.3 + 2000.2, 171.3 + 3000.3)
    found = stretches_under([small.header(station_mm=x) for x in at], small.can().stance(), 0.4)
    assert len(found) == 4
    assert len({(one.headers, one.length_mm) for one in found}) == 1


def test_beyond_its_spray_one_header_changes_nothing(small) -> None:
    header = small.header(pressure_MPa=0.15)
    line = sprayed(small, header)
    can = line.sizes[0]
    standing = standing_of(line, can)
    rest = standing.load.rest[0]
    turn = np.linspace(-math.pi, math.pi, 17)
    # the spray is 98 mm in radius, a can 30, and its top comes 45 out at balance
    for x, y in ((1190.0, 500.0), (810.0, 500.0), (1e3, 50.0), (1e3, 950.0), (0.0, 500.0)):
        balance, energy = asked(standing, np.full(17, x), np.full(17, y), turn)
        assert balance == pytest.approx(np.full(17, rest.real), rel=1e-6)
        assert energy == pytest.approx(np.full(17, rest.imag), rel=1e-6)
    _, energy = asked(standing, np.full(17, 960.0), np.full(17, 500.0), turn)
    assert energy.min() < 0.9 * rest.imag


@given(along=st.floats(-170.0, 170.0), aside=st.floats(-300.0, 300.0), turn=st.floats(-3.2, 3.2))
def test_mirrored_headers_load_mirrored_places_alike(small, along, aside, turn) -> None:
    """The headers are their own mirror picture, left to right and upstream to downstream."""
    line = sprayed(small, small.header(), small.header("below"))
    standing = standing_of(line, line.sizes[0])
    x, y = 1000.0 + along, 500.0 + aside
    here = asked(standing, x, y, turn)
    for other in ((x, 1000.0 - y, -turn), (2000.0 - x, y, math.pi - turn)):
        there = asked(standing, *other)
        assert there[0] == pytest.approx(here[0], abs=0.02)
        assert there[1] == pytest.approx(here[1], abs=0.008)


def sure_of(standing: Standing, *where: np.ndarray) -> np.ndarray:
    """Energy that no can needs less of at places along, in directions."""
    x, turn = np.broadcast_arrays(*where)
    stretch = np.searchsorted(standing.load.ends_mm, x, side="right")
    each = zip(stretch.tolist(), x.tolist(), turn.tolist(), strict=True)
    return np.array([least_in(standing.least, *one) for one in each])


FAN = Nozzle("fan", math.radians(80.0), 1.0e4, 0.2, math.radians(20.0), math.radians(15.0))


@pytest.mark.parametrize(
    "headers",
    [
        (("above", {}), ("below", {"pressure_MPa": 0.2})),
        (("above", {"station_mm": 900.0}), ("above", {"station_mm": 1033.0, "first_mm": 250.3})),
        (("above", {}), ("below", {"pitch_mm": 61.7, "count": 9})),
        (("above", {"nozzle": FAN}),),
        (("above", {"pitch_mm": 4.1, "count": 130, "pressure_MPa": 0.02}),),
        (("above", {"count": 1, "first_mm": 480.0, "pitch_mm": 500.0}),),
    ],
    ids=[
        "above and below",
        "sprays that meet",
        "two pitches",
        "fan",
        "close nozzles",
        "one nozzle",
    ],
)
def test_the_grid_gives_what_sums_over_every_nozzle_give(small, headers) -> None:
    made = tuple(small.header(side, **{"pressure_MPa": 0.3, **more}) for side, more in headers)
    line = sprayed(small, *made)
    can = line.sizes[0]
    standing = standing_of(line, can)
    rng = np.random.default_rng(3)
    where = rng.uniform(750, 1250, 3000), rng.uniform(200, 800, 3000), rng.uniform(-4, 4, 3000)
    share = standing.water_in_dome[0]
    balance, energy = direct(made, can, share, line.mat.open_fraction, *where)
    found = asked(standing, *where)
    spread = float(np.ptp(energy))
    assert spread > 0.1
    error = found[1] - energy
    assert math.sqrt(float(np.mean(error**2))) < 0.01 * spread
    assert np.abs(error).max() < 0.1 * spread
    assert abs(float(error.mean())) < 0.001 * spread
    assert math.sqrt(float(np.mean((found[0] - balance) ** 2))) < math.radians(0.4)
    sure = sure_of(standing, where[0], where[2])
    assert (found[1] >= sure).all()
    assert (energy >= sure - 1e-9).all()  # at rest they are equal
    assert sure.max() > 0.5 * standing.rest_energy_mJ[0]


def test_on_the_shipped_line_the_chance_of_a_kick_is_that_of_the_direct_sums(root) -> None:
    """Where tips are not rarer than one in a million kicks."""
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    can = line.size("sleek body")
    standing, start, seen = standing_of(line, can), 0.0, 0
    rng = np.random.default_rng(1)
    for i, stage in enumerate(line.stages):
        if stage.headers:
            x = stage.headers[0].station_mm + rng.uniform(-170.0, 170.0, 6000)
            y, turn = rng.uniform(200.0, 1400.0, 6000), rng.uniform(-math.pi, math.pi, 6000)
            share, mean = standing.water_in_dome[i], 0.012
            assert (
                asked(standing, start + x, y, turn)[1] >= sure_of(standing, start + x, turn)
            ).all()
            energy = direct(stage.headers, can, share, line.mat.open_fraction, x, y, turn)[1]
            chance = float(np.exp(-energy / mean).mean())
            if chance > 1e-6:
                seen += 1
                found = asked(standing, start + x, y, turn)[1]
                assert float(np.exp(-found / mean).mean()) == pytest.approx(chance, rel=0.1)
        start += stage.length_mm
    assert seen >= 3


def test_part_of_a_lean_costs_what_the_work_against_the_load_is(root) -> None:
    """In the wash: against the integral of what rights the can, from the moments at 41 leans."""
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    can, stage = line.size("sleek body"), line.stage("wash")
    stance, rng = can.stance(), np.random.default_rng(0)
    leans = np.linspace(0.0, stance.balance_angle_rad, 41)
    where = (
        800.0 + rng.uniform(-170, 170, 2000),
        rng.uniform(200, 1400, 2000),
        rng.uniform(-4, 4, 2000),
    )
    moment = tipping_moment_N_mm(stage.headers, stance, line.mat.open_fraction, *where, leans)
    balance, energy = tipped_under_load(moment, leans, stance)
    rights = stance.weight_N * stance.arm_mm * np.sin(stance.balance_angle_rad - leans) - moment
    work = cumulative_trapezoid(rights, leans, initial=0.0)
    easy = energy < np.quantile(energy, 0.05)
    for part in (0.25, 0.5, 0.75):
        lean = part * balance
        true = np.array([np.interp(at, leans, row) for at, row in zip(lean, work, strict=True)])
        got = np.vectorize(part_of_energy_mJ)(
            np.sin(lean), *np.vectorize(righting)(np.sin(balance), energy)
        )
        error = (got - true) / energy
        assert math.sqrt(float(np.mean(error**2))) < 0.07
        assert math.sqrt(float(np.mean(error[easy] ** 2))) < 0.02


def test_harder_sprays_never_make_the_easiest_tip_harder(small) -> None:
    least = []
    x, y, turn = (
        each.ravel()
        for each in np.meshgrid(
            np.linspace(840.0, 1160.0, 33), np.linspace(200.0, 800.0, 41), np.arange(8) * 0.8
        )
    )
    for factor in (0.0, 0.5, 1.0, 1.25, 1.5, 2.0, 4.0, 100.0):
        line = sprayed(small, small.header(pressure_MPa=0.2 * factor))
        standing = standing_of(line, line.sizes[0])
        energy = asked(standing, x, y, turn)[1]
        least.append(float(energy.min()))
        assert (energy >= sure_of(standing, x, turn)).all()
    assert (np.diff(least) <= 0.0).all()
    assert least[0] == pytest.approx(standing.load.rest[0].imag, rel=1e-6)
    assert least[-1] == 0.0


@pytest.mark.parametrize("pressure", [0.0, 0.1, 0.4])
def test_the_dome_water_is_that_with_the_least_energy_towards_a_guide(small, pressure) -> None:
    """Against every share at every place; the rule looks at the worst place at each lean."""
    headers = (small.header(pressure_MPa=pressure), small.header("below", pressure_MPa=pressure))
    line = sprayed(small, *headers, water_in_dome=(0.0, 1.0))
    can = line.sizes[0]
    x, y, turn = np.meshgrid(
        np.linspace(830.0, 1170.0, 35), np.linspace(474.0, 526.0, 14), [-math.pi / 2, math.pi / 2]
    )
    least = np.array(
        [direct(headers, can, s, line.mat.open_fraction, x, y, turn)[1].min() for s in SHARES]
    )
    share = worst_water(headers, (0.0, 1.0), can, line.mat.open_fraction)
    taken = direct(headers, can, share, line.mat.open_fraction, x, y, turn)[1].min()
    assert taken <= 1.02 * least.min() + 1e-9


def test_what_is_asked_of_a_place_does_not_hang_on_what_was_asked_before(small) -> None:
    """Loads are worked out where they are asked for; who asked first changes no digit of them."""
    rng = np.random.default_rng(7)
    where = rng.uniform(800, 1200, 400), rng.uniform(150, 850, 400), rng.uniform(-4, 4, 400)
    parts = [slice(None)], [slice(300, 400), slice(0, 200), slice(None)]
    got = []
    for order in parts:
        _one_after_the_other.cache_clear()  # lines with equal headers share what is worked out
        line = sprayed(small, small.header(), small.header("below"))
        standing = standing_of(line, line.sizes[0])
        assert not standing.load.values.any()
        for part in order:
            found = asked(standing, *(each[part] for each in where))
        got.append(found)
    for one, other in zip(*got, strict=True):
        np.testing.assert_array_equal(one, other)
    assert 0 < np.count_nonzero(standing.load.values) < standing.load.values.size // 4


@pytest.mark.parametrize("cg_mm", [25.0, 40.0, 85.0])
def test_more_water_makes_a_can_dearer_to_tip_where_the_short_rule_says_so(small, cg_mm) -> None:
    """Against every share under random moments; a can with its weight low does not keep the rule.

    Then every place is looked at, as the test above has it.
    """
    can, rng = replace(small.can(), cg_mm=cg_mm), np.random.default_rng(5)
    most = most_rad(can)
    leans = lean_nodes_rad(most)
    rises = _raised_mJ(can.stance(1.0), most) >= _raised_mJ(can.stance(0.0), most)
    assert rises == (cg_mm > 50.0)
    size = can.stance().weight_N * can.stance().radius_mm
    start = rng.uniform(0.0, 0.9, (200, 1)) * size
    moment = start * (1.0 + rng.uniform(-1.0, 1.0, (200, 1)) * leans / most)
    energy = np.array([tipped_under_load(moment, leans, can.stance(s))[1] for s in SHARES])
    falls = np.diff(energy, axis=0).min()
    assert falls >= -1e-9 if rises else falls < -1e-4


def test_kicks_are_divided_between_under_the_headers_and_between_them(small) -> None:
    headers = (small.header(station_mm=300.0), small.header("below"), small.header())
    x = np.linspace(0.0, 2000.0, 20_001)[:-1] + 0.05
    stage = np.zeros(x.size, dtype=np.int64)
    for share in (None, 0.0, 0.3, 1.0):
        line = sprayed(small, *headers, kicks=Kicks(0.05, 2.0, under_headers=share))
        shaking = shaking_of(line, line.sizes[0])
        rate = shaking.rate_per_s(stage, x)
        assert rate.mean() == pytest.approx(2.0, rel=1e-3)
        # an upright can, 30 in radius, is under a spray of 98 (above) or 82 (below)
        half = 180.0 * math.tan(0.5) + 30.0
        under = (np.abs(x - 300.0) < half) | (np.abs(x - 1000.0) < half)
        if share is None:
            assert (rate == 2.0).all()
        else:
            assert rate[under].sum() / rate.sum() == pytest.approx(share, abs=2e-3)
        assert (shaking.rate_per_s(stage - 1, x) == 0.0).all()


def test_a_hold_down_below_the_can_tops_holds_nothing(small) -> None:
    line = sprayed(small)
    can, stage = line.sizes[0], line.stages[0]
    meets = []
    for height in (119.0, 120.0, 125.0):
        one = line.with_stages((replace(stage, hold_down_mm=height),))
        meets.append(float(standing_of(one, can).meeting_rad[0]))
    assert meets[0] == math.inf
    assert meets[1] == 0.0
    assert 0.0 < meets[2] < can.stance().balance_angle_rad
