"""Quantities as people write them, against conversions done by hand and published factors."""

from __future__ import annotations

import math
import tomllib
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import readable
from packsim.scenario import quantities as k
from packsim.scenario.quantities import Kind, Refused, read_quantity, write_quantity

KINDS = [each for each in vars(k).values() if isinstance(each, Kind)]


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        # lengths: 1 in = 25.4 mm, 1 ft = 304.8 mm exactly (yard and pound agreement, 1959)
        ("66.1 mm", k.LENGTH, 66.1),
        ("66.1mm", k.LENGTH, 66.1),
        ("2 in", k.LENGTH, 50.8),
        ("2 11/16 in", k.LENGTH, 68.2625),
        ("11/16 in", k.LENGTH, 17.4625),
        ("-1 1/2 in", k.PLACE, -38.1),
        ("3 ft", k.LENGTH, 914.4),
        ("3 thou", k.LENGTH, 0.0762),
        ("1.6 m", k.LENGTH, 1600.0),
        ("1e3 um", k.LENGTH, 1.0),
        ("1e3 µm", k.LENGTH, 1.0),  # micro sign
        ("1e3 μm", k.LENGTH, 1.0),  # Greek mu
        # speeds
        ("6 m/min", k.SPEED, 100.0),
        ("30 ft/min", k.SPEED, 152.4),
        ("0.1 m/s", k.SPEED, 100.0),
        # pressures
        ("2.5 bar", k.PRESSURE, 0.25),
        ("250 kPa", k.PRESSURE, 0.25),
        ("0.25 N/mm^2", k.PRESSURE, 0.25),
        ("0.25 N/mm²", k.PRESSURE, 0.25),
        # temperatures, with their offsets
        ("60 degC", k.TEMPERATURE, 60.0),
        ("60 °C", k.TEMPERATURE, 60.0),
        ("140 degF", k.TEMPERATURE, 60.0),
        ("140 °F", k.TEMPERATURE, 60.0),
        ("32 degF", k.TEMPERATURE, 0.0),
        ("-40 degF", k.TEMPERATURE, -40.0),
        ("333.15 K", k.TEMPERATURE, 60.0),
        # flows: 4 L/min = 4e6/60 mm³/s; 231 in³ = 3785411.784 mm³
        ("4 L/min", k.FLOW, 4e6 / 60.0),
        ("1.1 gal/min", k.FLOW, 1.1 * 3785411.784 / 60.0),
        ("240 l/h", k.FLOW, 4e6 / 60.0),
        # forces, angles, energies and the rest
        ("600 N", k.FORCE, 600.0),
        ("0.6 kN", k.FORCE, 600.0),
        ("135 lbf", k.FORCE, 135 * 4.4482216152605),
        ("60 deg", k.ANGLE, math.pi / 3.0),
        ("60°", k.ANGLE, math.pi / 3.0),
        ("0.5 rad", k.ANGLE, 0.5),
        ("0.05 mJ", k.ENERGY, 0.05),
        ("50 uJ", k.ENERGY, 0.05),
        ("0.05 N mm", k.ENERGY, 0.05),
        ("2 1/s", k.RATE, 2.0),
        ("2/s", k.RATE, 2.0),
        ("90 1/min", k.RATE, 1.5),
        ("2 Hz", k.RATE, 2.0),
        ("1 lb", k.MASS, 0.45359237),
        ("0.36 oz", k.MASS, 0.36 * 0.028349523125),
        ("50 g/m", k.LINE_MASS, 0.05),
        ("9.2 kg/m^2", k.AREA_MASS, 9.2),
        ("9.2 kg/m**2", k.AREA_MASS, 9.2),
        ("2.72 g/cm^3", k.METAL_DENSITY, 2720.0),
        ("0.9 kJ/(kg K)", k.HEAT, 900.0),
        ("900 J/(kg degC)", k.HEAT, 900.0),
        ("16 um/m/K", k.EXPANSION, 1.6e-5),
        ("1.6e-5 1/degC", k.EXPANSION, 1.6e-5),
        ("9e-6 1/degF", k.EXPANSION, 1.62e-5),
        ("20 N/m", k.LINE_FORCE, 20.0),
        ("60 %", k.SHARE, 0.6),
        # plain numbers, in the unit each key documents
        (66.1, k.LENGTH, 66.1),
        (2, k.RATED_PRESSURE, 0.2),
        (6, k.SPEED, 100.0),
        (4, k.FLOW, 4e6 / 60.0),
        (60, k.ANGLE, math.pi / 3.0),
        (10.2, k.MASS, 0.0102),
        (50, k.LINE_MASS, 0.05),
        (0.6, k.SHARE, 0.6),
    ],
)
def test_by_hand(text: object, kind: Kind, value: float) -> None:
    assert read_quantity(text, kind) == pytest.approx(value, rel=1e-15)


def test_published_factors(published: dict[str, Any]) -> None:
    psi_kPa = 1000.0 * read_quantity("1 psi", k.PRESSURE)
    gallon_L = 60.0 * read_quantity("1 gal/min", k.FLOW) / 1e6
    bar_in_psi = read_quantity("1 bar", k.PRESSURE) / read_quantity("1 psi", k.PRESSURE)
    assert published["J21"].agrees(psi_kPa)
    assert published["J22"].agrees(gallon_L)
    assert published["J23"].agrees(bar_in_psi)


@pytest.mark.parametrize(
    ("raw", "kind"),
    [
        ("45 psi", k.LENGTH),
        ("66.1 mm", k.PRESSURE),
        ("66.1", k.LENGTH),
        ("mm", k.LENGTH),
        ("", k.LENGTH),
        ("1 2 mm", k.LENGTH),
        ("1/0 in", k.LENGTH),
        ("2 1/0 in", k.LENGTH),
        ("1,5 mm", k.LENGTH),
        ("0 mm", k.LENGTH),
        ("-3 mm", k.GAP),
        ("nan mm", k.GAP),
        ("inf mm", k.GAP),
        ("1e999 mm", k.GAP),
        ("9" * 300 + " mm", k.GAP),
        ("1 mm^9^9^9^9", k.GAP),
        ("1 mm**3**3**3**3**3", k.GAP),
        ("1 mm*9**9**9", k.GAP),
        ("1 mm+1 in", k.GAP),
        ("1 )mm(", k.GAP),
        ("1 __import__", k.GAP),
        ("2 11/16 in", k.SHARE),
        ("60 %%", k.SHARE),
        ("60 deg", k.SHARE),
        ("60 %", k.ANGLE),
        ("0.5", k.ANGLE),
        ("3 rad/s", k.RATE),
        ("30 rpm", k.RATE),
        ("5 Bq", k.RATE),
        ("5 delta_degC", k.TEMPERATURE),
        ("5 degC/m", k.TEMPERATURE),
        ("5 degC mm", k.TEMPERATURE),
        ("-300 degC", k.TEMPERATURE),
        ("60 K", k.TEMPERATURE),  # -213 degC: a slip for degC
        (math.nan, k.GAP),
        (math.inf, k.GAP),
        (10**400, k.GAP),
        (True, k.GAP),
        (None, k.GAP),
        ([1.0], k.GAP),
        (-1, k.ENERGY),
        (1.01, k.SHARE),
        (0.5, k.FACTOR),
    ],
)
def test_refused(raw: object, kind: Kind) -> None:
    with pytest.raises(Refused) as caught:
        read_quantity(raw, kind)
    assert str(caught.value).startswith(kind.allowed)


@given(st.sampled_from(KINDS), st.floats(0.0, 1.0))
def test_written_is_read_back_to_the_same_float(kind: Kind, share: float) -> None:
    low, high = (read_quantity(edge, kind) for edge in (_lowest(kind), kind.high))
    value = min(high, max(low, low + share * (high - low)))
    text = write_quantity(value, kind)
    assert read_quantity(tomllib.loads(f"x = {text}")["x"], kind) == value


@given(st.sampled_from(KINDS), st.floats(1e-3, 1.0))
def test_what_is_shown_of_an_assumption_reads_back_to_six_figures(kind: Kind, share: float) -> None:
    value = read_quantity(kind.low + share * (kind.high - kind.low), kind)
    shown = readable(kind.plain(value), kind.unit)
    assert "e+" not in shown
    raw: object = shown if kind.unit else float(shown)
    assert read_quantity(raw, kind) == pytest.approx(value, rel=1e-5)


@given(st.integers(0, 500), st.integers(0, 63))
def test_mixed_fractions_of_an_inch(whole: int, sixty_fourths: int) -> None:
    got = read_quantity(f"{whole} {sixty_fourths}/64 in", k.GAP)
    assert got == float(Fraction(64 * whole + sixty_fourths, 64) * Fraction(254, 10))


def _lowest(kind: Kind) -> float:
    return kind.low if not kind.above else 1e-6 * kind.high
