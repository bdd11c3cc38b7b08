"""Pressure along a header's pipe: published values, an independent library, exact sums."""

from __future__ import annotations

import math
from dataclasses import replace

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.line import Header, Nozzle
from packsim.spray.pipe import (
    STANDARD_INSIDE_MM,
    friction_factor,
    nozzle_pressures_MPa,
    pipe_run,
    smallest_pipe,
)

NOZZLE = Nozzle("cone", math.radians(60.0), 4e4, 0.2)  # 2.4 L/min at 2 bar


def header(count: int = 24, pressure: float = 0.2, pitch: float = 57.2, **more: float) -> Header:
    return replace(
        Header("above", 0.0, 300.0, 0.0, pitch, count, pressure, NOZZLE),
        **more,  # type: ignore[arg-type]
    )


def christiansen(count: int) -> float:
    """F = 1/(m + 1) + 1/(2N) + √(m − 1)/(6N²), Christiansen (1942), m = 2."""
    return 1.0 / 3.0 + 1.0 / (2.0 * count) + 1.0 / (6.0 * count**2)


@pytest.mark.parametrize("reynolds", [4e3, 1e5, 1e7])
@pytest.mark.parametrize("rough", [0.0, 1e-4, 1e-2])
def test_friction_factor_is_within_two_percent_of_colebrook(reynolds: float, rough: float) -> None:
    # the implicit formula solved by an independent library
    exact = fluids.friction.Colebrook(reynolds, rough)
    assert friction_factor(reynolds, rough) == pytest.approx(exact, rel=0.02)


def test_friction_factor_of_a_published_example() -> None:
    # F. M. White, Fluid Mechanics, oil in cast iron: Re 128,000, ε/d 0.0013, f = 0.0225 and
    # 117 m of head over 500 m of 200 mm at 6.4 m/s; from memory
    factor = friction_factor(128_000.0, 0.0013)
    assert factor == pytest.approx(0.0225, abs=0.0002)
    assert factor * 500.0 / 0.2 * 6.4**2 / (2.0 * 9.81) == pytest.approx(117.0, abs=1.5)


def test_fully_rough_pipe_of_a_published_example() -> None:
    # an online worked answer, content page, weak source, read: 250 mm, roughness 0.26 mm, 6.11 m/s,
    # the formula of fully rough pipe: f = 0.0198, 75.35 m of head over 500 m
    factor = friction_factor(1e12, 0.26 / 250.0)
    assert factor == pytest.approx(0.0198, abs=0.0001)
    assert factor * 500.0 / 0.25 * 6.11**2 / (2.0 * 9.81) == pytest.approx(75.35, abs=0.4)


def test_slow_flow_loses_as_hagen_and_poiseuille_say() -> None:
    # 32 μ v L / d² with f = 64/Re, exact
    bore, speed, viscosity = 50.0, 40.0, 1.0
    factor = friction_factor(speed * bore / viscosity, 0.0)
    darcy = factor / bore * 0.5e-6 * speed**2
    assert darcy == pytest.approx(32.0 * 1e-6 * viscosity * speed / bore**2)


def test_standard_pipes_are_those_of_an_independent_table() -> None:
    table = np.array(fluids.piping.S40i)
    first = int(np.argmin(np.abs(table - STANDARD_INSIDE_MM[0])))
    own = np.array(STANDARD_INSIDE_MM)
    assert own == pytest.approx(table[first : first + len(own)], abs=0.051)


@pytest.mark.parametrize(("count", "published"), [(2, 0.625), (5, 0.440), (10, 0.385), (20, 0.359)])
def test_loss_over_many_outlets_is_christiansens(count: int, published: float) -> None:
    """F of the 1942 tables for m = 2, from memory, with one more length of pipe before the first.

    The sum over outlets is exact where flows are alike and the friction factor is one: a wide, very
    rough pipe.
    """
    assert christiansen(count) == pytest.approx(published, abs=6e-4)
    large = Nozzle("cone", 1.0, 2e6, 10.0)
    rough = replace(header(count, 10.0, pipe_roughness_mm=4.0), nozzle=large)
    bore = 110.0
    pressures = nozzle_pressures_MPa(rough, bore)
    flow = 2e6 * count
    speed = flow / (math.pi * bore**2 / 4.0)
    factor = friction_factor(speed * bore, 4.0 / bore)
    per_length = factor * 57.2 / bore * 0.5e-9 * speed**2  # of the whole flow, one pitch
    before = per_length  # the length ahead of the first outlet carries it all
    lost = float(pressures[0] - pressures[-1]) + before
    assert lost == pytest.approx(published * count * per_length, rel=0.003)


def test_all_pressure_regained_is_bernoulli_where_friction_is_nothing() -> None:
    # between the first and the last nozzle the flow past the first is brought to rest
    line = header(12, pitch=1e-6)
    bore = 30.0
    pressures = nozzle_pressures_MPa(line, bore, 1.0)
    flows = 4e4 * np.sqrt(pressures / 0.2)
    beyond = flows[1:].sum() / (math.pi * bore**2 / 4.0)
    assert pressures[-1] - pressures[0] == pytest.approx(0.5e-9 * beyond**2, rel=1e-6)
    assert pressures[0] == pytest.approx(0.2, rel=1e-9)


def test_two_nozzles_by_hand() -> None:
    line, bore = header(2, pitch=5000.0), 12.0
    first, last = nozzle_pressures_MPa(line, bore)
    speed = 4e4 * math.sqrt(last / 0.2) / (math.pi * 36.0)
    factor = friction_factor(speed * bore, 0.045 / bore)
    assert first == pytest.approx(0.2)
    assert first - last == pytest.approx(factor * 5000.0 / bore * 0.5e-9 * speed**2, rel=1e-8)


@given(
    bore=st.floats(20.0, 150.0),
    count=st.integers(2, 60),
    pressure=st.floats(0.01, 0.6),
    wider=st.floats(1.05, 3.0),
)
def test_a_wider_pipe_and_a_shorter_header_are_more_even(
    bore: float, count: int, pressure: float, wider: float
) -> None:
    line = header(count, pressure)
    run, wide = pipe_run(line, bore), pipe_run(line, bore * wider)
    assert wide.loss_MPa <= run.loss_MPa * (1.0 + 1e-6)
    assert wide.last_share[0] >= run.last_share[0] - 1e-9
    assert run.last_share[0] <= 1.0
    longer = pipe_run(header(2 * count, pressure), bore)
    assert longer.last_share[0] <= run.last_share[0] + 1e-9


def test_the_smallest_pipe_serves_and_the_next_smaller_does_not() -> None:
    line = header()
    found = smallest_pipe(line, 0.98)
    assert found is not None
    place = STANDARD_INSIDE_MM.index(found.inside_mm)
    assert found.even_share >= 0.98 > pipe_run(line, STANDARD_INSIDE_MM[place - 1]).even_share
    stricter = smallest_pipe(line, 0.999)
    assert stricter is not None
    assert stricter.inside_mm >= found.inside_mm


def test_a_pipe_far_too_small_has_no_steady_flow_and_no_standard_pipe_may_do() -> None:
    assert pipe_run(header(), 6.0).even_share < 0.5
    huge = header(2000, 0.001, 1000.0)
    assert smallest_pipe(huge, 0.99) is None


def test_no_pressure_no_loss() -> None:
    run = pipe_run(header(pressure=0.0), 50.0)
    assert (run.loss_MPa, run.last_share) == (0.0, (1.0, 1.0))


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_bad_pipes_are_refused(bad: float) -> None:
    with pytest.raises(InputError):
        pipe_run(header(), bad)
    with pytest.raises(InputError, match="pipe_mm"):
        header(pipe_mm=bad)
