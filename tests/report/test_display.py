"""How numbers are shown: digits, units, signs, fractions."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.report.words.display import UNIT_SYSTEMS, Display
from packsim.report.words.numbers import percent, signed, span, thousands, with_interval

MM, IN = Display("metric"), Display("inch")
LENGTHS = st.floats(-1e5, 1e5, allow_nan=False)


def test_the_two_systems() -> None:
    assert UNIT_SYSTEMS == ("metric", "inch")
    assert Display() == MM
    assert (MM.length_unit, IN.length_unit) == ("mm", "in")
    with pytest.raises(InputError, match="metric, inch"):
        Display("furlong")


@pytest.mark.parametrize(
    ("mm", "metric", "inch"),
    [
        (0.0, "0.0 mm", "0.000 in"),
        (25.4, "25.4 mm", "1.000 in"),
        (-25.4, "−25.4 mm", "−1.000 in"),
        (1390.5, "1390.5 mm", "54.744 in"),
        (0.04, "0.0 mm", "0.002 in"),
        (-0.04, "0.0 mm", "−0.002 in"),
        (-0.001, "0.0 mm", "0.000 in"),
        (None, "–", "–"),
        (math.nan, "–", "–"),
        (math.inf, "no limit", "no limit"),
    ],
)
def test_lengths(mm: float | None, metric: str, inch: str) -> None:
    assert MM.length(mm) == metric
    assert IN.length(mm) == inch
    assert MM.length(mm, unit=False) == metric.removesuffix(" mm")


def test_signed_lengths() -> None:
    assert MM.length(3.0, signed=True) == "+3.0 mm"
    assert MM.length(-3.0, signed=True) == "−3.0 mm"
    assert MM.length(0.0, signed=True) == "0.0 mm"
    assert MM.length(-0.01, signed=True) == "0.0 mm"


@given(mm=LENGTHS, signed=st.booleans())
def test_a_shown_length_is_the_length_and_never_minus_zero(mm: float, signed: bool) -> None:
    for display, step, unit in ((MM, 0.1, 1.0), (IN, 0.001, 25.4)):
        text = display.length(mm, signed=signed)
        value, name = text.split()
        assert name == display.length_unit
        assert abs(float(value.replace("−", "-")) - mm / unit) <= step / 2.0 * (1.0 + 1e-9) + 1e-9
        assert not re.fullmatch(r"[−+]0\.?0*", value)
        assert signed or not value.startswith("+")


def test_speeds_pressures_rates_angles_and_indices() -> None:
    # 100 mm/s is 6 m/min, and 6 / 0.3048 = 19.685 ft/min
    assert (MM.speed(100.0), IN.speed(100.0)) == ("6.00 m/min", "19.69 ft/min")
    # 1 bar is 0.1 MPa and 14.5038 psi
    assert MM.pressure_value(0.1) == (pytest.approx(1.0), "bar")
    assert IN.pressure_value(0.1) == (pytest.approx(14.5038, abs=5e-5), "psi")
    assert MM.angle(math.pi / 8.0) == "22.5°"
    assert MM.angle(math.inf) == MM.angle(math.nan) == "none"
    assert (MM.index(0.125), MM.index(1.0)) == ("0.12", "1.00")
    assert MM.index(math.inf) == "unheld"


@pytest.mark.parametrize(
    ("inches", "shown"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (1 / 128, "0"),
        (-1 / 128, "0"),  # a move of less than half a step has no side
        (1 / 32, "1/32"),
        (0.5, "1/2"),
        (-0.5, "−1/2"),
        (2 + 11 / 16, "2 11/16"),
        (-(2 + 11 / 16), "−2 11/16"),
        (127 / 128, "1"),  # rounding carries into the whole inch
        (-127 / 128, "−1"),
        (3 + 127 / 128, "4"),
        (54.75, "54 3/4"),
    ],
)
def test_inches_and_fractions(inches: float, shown: str) -> None:
    assert IN.fraction(inches * 25.4) == shown


def test_fractions_to_a_sixteenth_carry() -> None:
    sixteenth = Fraction(1, 16)
    assert IN.fraction((15 / 16 + 1 / 31) * 25.4, sixteenth) == "1"
    assert IN.fraction(15 / 16 * 25.4, sixteenth) == "15/16"
    assert IN.fraction(25.4 / 3, sixteenth) == "5/16"


@given(mm=LENGTHS)
def test_a_fraction_is_right_to_half_a_step_and_in_lowest_terms(mm: float) -> None:
    text = IN.fraction(mm)
    match = re.fullmatch(r"(−?)(?:(\d+) )?(?:(\d+)/(\d+) )?", f"{text} ")
    assert match is not None
    whole, over, under = (int(match[i] or d) for i, d in ((2, 0), (3, 0), (4, 1)))
    assert Fraction(over, under).denominator == under
    assert over < under
    value = (whole + over / under) * (-1.0 if match[1] else 1.0)
    assert abs(value - mm / 25.4) <= 1.0 / 64.0 + 1e-5
    assert not (match[1] and value == 0.0)


def test_one_style_of_number() -> None:
    assert (thousands(1976.6), thousands(999.4)) == ("1,977", "999")
    assert (percent(0.1124), percent(0.5, 0), percent(math.nan)) == ("11.2 %", "50 %", "–")
    assert (signed(-1234.56), signed(0.04, plus=True)) == ("−1,234.6", "0.0")
    assert (span("1387.0", "1394.6"), span("3", "3")) == ("1387.0–1394.6", "3")
    assert with_interval(6.6, 4.8, 8.9) == "6.6 (4.8–8.9)"
    assert with_interval(-6.6, -8.9, 1.0) == "−6.6 (−8.9 to 1.0)"
    assert with_interval(6.6, None, None) == "6.6"


@given(mm=st.floats(0.0, 3000.0))
def test_a_setting_in_inches_says_on_which_side_of_its_mark_it_lies(mm: float) -> None:
    """By exact fractions: the value less the mark, in steps of 1/32 in."""
    text = IN.setting(mm, unit=False)
    mark = text.rstrip("+−")
    steps = sum(Fraction(part) for part in mark.split()) * 32
    off = Fraction(mm) / Fraction(254, 10) * 32 - steps
    assert abs(off) <= Fraction(501, 1000)
    assert text.endswith("+") == (off > Fraction(1, 8))
    assert text.endswith("−") == (off < Fraction(-1, 8))
    assert MM.setting(mm) == MM.length(mm)


def test_forces_moments_and_temperatures() -> None:
    # 1 lbf is 0.45359237 kg at 9.80665 m/s^2; 25 degC is 77 degF
    assert (MM.force(703.4), IN.force(703.4)) == ("703 N", "158.1 lbf")
    assert MM.force(-0.02641, 4) == "−0.0264 N"
    assert (MM.moment(112.984829), IN.moment(112.984829)) == ("112.985 N·mm", "1.00000 lbf·in")
    assert (MM.temperature(25.0), IN.temperature(25.0)) == ("25 °C", "77 °F")
