"""Quantities as people write them, against conversions done by hand and published factors."""

from __future__ import annotations

import math
import re
import tomllib
from fractions import Fraction
from importlib.resources import files
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from packsim.errors import readable
from packsim.scenario.values import fields as f
from packsim.scenario.values import quantities
from packsim.scenario.values.fields import kind_of
from packsim.scenario.values.quantities import Kind, Refused, read_quantity, write_quantity
from tests.scenario_schema import every_kind

KINDS = every_kind()


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        # lengths: 1 in = 25.4 mm, 1 ft = 304.8 mm exactly (yard and pound agreement, 1959)
        ("66.1 mm", kind_of(f.Length), 66.1),
        ("66.1mm", kind_of(f.Length), 66.1),
        ("2 in", kind_of(f.Length), 50.8),
        ("2 11/16 in", kind_of(f.Length), 68.2625),
        ("11/16 in", kind_of(f.Length), 17.4625),
        ("-1 1/2 in", kind_of(f.Place), -38.1),
        ("3 ft", kind_of(f.Length), 914.4),
        ('2 1/8"', kind_of(f.Length), 53.975),
        ("3 thou", kind_of(f.Length), 0.0762),
        ("1.6 m", kind_of(f.Length), 1600.0),
        ("1e3 um", kind_of(f.Length), 1.0),
        ("1e3 µm", kind_of(f.Length), 1.0),  # micro sign
        ("1e3 μm", kind_of(f.Length), 1.0),  # Greek mu
        # speeds
        ("6 m/min", kind_of(f.Speed), 100.0),
        ("30 ft/min", kind_of(f.Speed), 152.4),
        ("0.1 m/s", kind_of(f.Speed), 100.0),
        # pressures
        ("2.5 bar", kind_of(f.Pressure), 0.25),
        ("250 kPa", kind_of(f.Pressure), 0.25),
        ("0.25 N/mm^2", kind_of(f.Pressure), 0.25),
        ("0.25 N/mm²", kind_of(f.Pressure), 0.25),
        # temperatures, with their offsets
        ("60 degC", kind_of(f.Temperature), 60.0),
        ("60 °C", kind_of(f.Temperature), 60.0),
        ("140 degF", kind_of(f.Temperature), 60.0),
        ("140 °F", kind_of(f.Temperature), 60.0),
        ("32 degF", kind_of(f.Temperature), 0.0),
        ("-40 degF", kind_of(f.Temperature), -40.0),
        ("333.15 K", kind_of(f.Temperature), 60.0),
        # flows: 4 L/min = 4e6/60 mm³/s; 231 in³ = 3785411.784 mm³
        ("4 L/min", kind_of(f.Flow), 4e6 / 60.0),
        ("1.1 gal/min", kind_of(f.Flow), 1.1 * 3785411.784 / 60.0),
        ("240 l/h", kind_of(f.Flow), 4e6 / 60.0),
        # forces, angles, energies and the rest
        ("600 N", kind_of(f.Force), 600.0),
        ("0.6 kN", kind_of(f.Force), 600.0),
        ("135 lbf", kind_of(f.Force), 135 * 4.4482216152605),
        ("60 deg", kind_of(f.Angle), math.pi / 3.0),
        ("60°", kind_of(f.Angle), math.pi / 3.0),
        ("0.5 rad", kind_of(f.Angle), 0.5),
        ("0.05 mJ", kind_of(f.Energy), 0.05),
        ("50 uJ", kind_of(f.Energy), 0.05),
        ("0.05 N mm", kind_of(f.Energy), 0.05),
        ("2 1/s", kind_of(f.Rate), 2.0),
        ("2/s", kind_of(f.Rate), 2.0),
        ("90 1/min", kind_of(f.Rate), 1.5),
        ("2 Hz", kind_of(f.Rate), 2.0),
        ("1 lb", kind_of(f.Mass), 0.45359237),
        ("0.36 oz", kind_of(f.Mass), 0.36 * 0.028349523125),
        ("50 g/m", kind_of(f.LineMass), 0.05),
        ("9.2 kg/m^2", kind_of(f.AreaMass), 9.2),
        ("9.2 kg/m**2", kind_of(f.AreaMass), 9.2),
        ("2.72 g/cm^3", kind_of(f.MetalDensity), 2720.0),
        ("0.9 kJ/(kg K)", kind_of(f.Heat), 900.0),
        ("900 J/(kg degC)", kind_of(f.Heat), 900.0),
        ("16 um/m/K", kind_of(f.Expansion), 1.6e-5),
        ("1.6e-5 1/degC", kind_of(f.Expansion), 1.6e-5),
        ("9e-6 1/degF", kind_of(f.Expansion), 1.62e-5),
        ("20 N/m", kind_of(f.LineForce), 20.0),
        ("60 %", kind_of(f.Share), 0.6),
        # plain numbers, in the unit each key documents
        (66.1, kind_of(f.Length), 66.1),
        (2, kind_of(f.RatedPressure), 0.2),
        (6, kind_of(f.Speed), 100.0),
        (4, kind_of(f.Flow), 4e6 / 60.0),
        (60, kind_of(f.Angle), math.pi / 3.0),
        (10.2, kind_of(f.Mass), 0.0102),
        (50, kind_of(f.LineMass), 0.05),
        (0.6, kind_of(f.Share), 0.6),
    ],
)
def test_by_hand(text: object, kind: Kind, value: float) -> None:
    assert read_quantity(text, kind) == pytest.approx(value, rel=1e-15)


def test_published_factors(published: dict[str, Any]) -> None:
    psi_kPa = 1000.0 * read_quantity("1 psi", kind_of(f.Pressure))
    gallon_L = 60.0 * read_quantity("1 gal/min", kind_of(f.Flow)) / 1e6
    bar_in_psi = read_quantity("1 bar", kind_of(f.Pressure)) / read_quantity(
        "1 psi", kind_of(f.Pressure)
    )
    assert published["J21"].agrees(psi_kPa)
    assert published["J22"].agrees(gallon_L)
    assert published["J23"].agrees(bar_in_psi)


@pytest.mark.parametrize(
    ("raw", "kind"),
    [
        ("45 psi", kind_of(f.Length)),
        ("66.1 mm", kind_of(f.Pressure)),
        ("66.1", kind_of(f.Length)),
        ("mm", kind_of(f.Length)),
        ("", kind_of(f.Length)),
        ("1 2 mm", kind_of(f.Length)),
        ("1/0 in", kind_of(f.Length)),
        ("2 1/0 in", kind_of(f.Length)),
        ("1,5 mm", kind_of(f.Length)),
        ("0 mm", kind_of(f.Length)),
        ("-3 mm", kind_of(f.Gap)),
        ("nan mm", kind_of(f.Gap)),
        ("inf mm", kind_of(f.Gap)),
        ("1e999 mm", kind_of(f.Gap)),
        ("9" * 300 + " mm", kind_of(f.Gap)),
        ("1 mm^9^9^9^9", kind_of(f.Gap)),
        ("1 mm**3**3**3**3**3", kind_of(f.Gap)),
        ("1 mm*9**9**9", kind_of(f.Gap)),
        ("1 mm+1 in", kind_of(f.Gap)),
        ("1 )mm(", kind_of(f.Gap)),
        ("1 __import__", kind_of(f.Gap)),
        ("2 11/16 in", kind_of(f.Share)),
        ("60 %%", kind_of(f.Share)),
        ("60 deg", kind_of(f.Share)),
        ("60 %", kind_of(f.Angle)),
        ("0.5", kind_of(f.Angle)),
        ("3 rad/s", kind_of(f.Rate)),
        ("30 rpm", kind_of(f.Rate)),
        ("5 Bq", kind_of(f.Rate)),
        ("5 delta_degC", kind_of(f.Temperature)),
        ("5 degC/m", kind_of(f.Temperature)),
        ("5 degC mm", kind_of(f.Temperature)),
        ("-300 degC", kind_of(f.Temperature)),
        ("60 K", kind_of(f.Temperature)),  # -213 degC: a slip for degC
        (math.nan, kind_of(f.Gap)),
        (math.inf, kind_of(f.Gap)),
        (10**400, kind_of(f.Gap)),
        (True, kind_of(f.Gap)),
        (None, kind_of(f.Gap)),
        ([1.0], kind_of(f.Gap)),
        (-1, kind_of(f.Energy)),
        (1.01, kind_of(f.Share)),
        (0.5, kind_of(f.Factor)),
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
    got = read_quantity(f"{whole} {sixty_fourths}/64 in", kind_of(f.Gap))
    assert got == float(Fraction(64 * whole + sixty_fourths, 64) * Fraction(254, 10))


GENERAL = UnitRegistry(cache_folder=None)
"""Some thousand units of a library that knows nothing of ours."""


NAMES = [
    name
    for line in files("packsim.scenario.values")
    .joinpath("units.txt")
    .read_text("utf-8")
    .splitlines()
    if not line.startswith("#")
    for name in line.partition(" = ")[0].split()
]


TRADE: Final = {
    "%": "pct", "C": "degC", "F": "degF", "psig": "psi", "PSI": "psi", "gpm": "gal/min",
    "GPM": "gal/min", "lpm": "L/min", "LPM": "L/min", "fpm": "ft/min", "FPM": "ft/min",
    "in.": "in", '"': "in", "\u2033": "in", "ft.": "ft", "'": "ft", "\u2032": "ft",
}  # fmt: skip
"""What the general library takes for something else or does not know, and what it is to us."""


@pytest.mark.parametrize(("name", "same"), TRADE.items())
def test_a_name_of_the_trade_is_the_unit_itself(name: str, same: str) -> None:
    assert quantities.convert(Fraction(77, 3), name, same) == Fraction(77, 3)


@pytest.mark.parametrize("name", [n for n in NAMES if n not in (*TRADE, "pct", "mil")])
def test_every_unit_is_what_a_general_library_takes_it_for(name: str) -> None:
    known = GENERAL.Quantity(1, name)
    inner = "degC" if known.is_compatible_with("degC") else f"{known.to_base_units().units:~C}"
    for value in (Fraction(1), Fraction(77, 3)):
        told = float(GENERAL.Quantity(float(value), name).to(inner).magnitude)
        got = quantities.convert(value, name, inner)
        assert float(got) == pytest.approx(told, rel=1e-13)


PRODUCTS = [
    ("N/mm²", "Pa"),
    ("um/m/K", "1/K"),
    ("kJ/(kg K)", "J/(kg K)"),
    ("BTU/(lb K)", ""),
    ("m per min", "ft/h"),
    ("/ms", "Hz"),
    ("1/min", "Hz"),
    ("gal/min", "mL/s"),
    ("lbf/in**2", "bar"),
    ("g·cm^-3", "lb/ft^3"),
    ("L/(min m^2)", "mm/s"),
    ("oz inches / sec**2", "mN"),
]


@pytest.mark.parametrize(("text", "inner"), PRODUCTS)
def test_a_product_of_units_is_what_a_general_library_makes_of_it(text: str, inner: str) -> None:
    if text.startswith("BTU"):  # theirs, not ours
        with pytest.raises(quantities.UnitMismatch):
            quantities.convert(Fraction(3), text, inner)
        return
    known = GENERAL.Quantity(3.0, re.sub("^/", "1/", text)).to(inner)
    got = quantities.convert(Fraction(3), text, inner)
    assert float(got) == pytest.approx(float(known.magnitude), rel=1e-13)


@pytest.mark.parametrize(
    "text", ["mm per", "per", "per^2 s", "m/", "mdegC", "kgs", "mms", "degF/m"]
)
def test_no_unit(text: str) -> None:
    with pytest.raises(quantities.UnitMismatch):
        quantities.convert(Fraction(1), text, "degC" if "deg" in text else "mm")


def _lowest(kind: Kind) -> float:
    return kind.low if not kind.above else 1e-6 * kind.high
