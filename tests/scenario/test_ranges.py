"""A quantity behind an option: bare numbers are in the units asked for, or refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.scenario.values.ranges import read_value, read_weights

NUMBERS = st.decimals(min_value=1, max_value=500, places=3).map(str)
UNITS = {
    "length": ("mm", "in"),
    "gap": ("mm", "in"),
    "place": ("mm", "in"),
    "speed": ("m/min", "ft/min"),
    "force": ("N", "lbf"),
    "pressure": ("bar", "psi"),
    "temperature": ("degC", "degF"),
}


@pytest.mark.parametrize("kind", UNITS)
@given(number=NUMBERS)
def test_a_bare_number_takes_the_usual_unit_of_its_system(kind: str, number: str) -> None:
    for units, unit in zip(("metric", "inch"), UNITS[kind], strict=True):
        assert read_value("x", kind, number, units) == read_value("x", kind, f"{number} {unit}")


@given(number=NUMBERS)
def test_a_number_with_its_unit_does_not_depend_on_the_system(number: str) -> None:
    found = {read_value("x", "length", f"{number} mm", units) for units in ("metric", "inch", None)}
    assert found == {float(number)}


@pytest.mark.parametrize(
    ("kind", "text", "units"),
    [
        ("length", "12", None),
        ("length", "1/32", "metric"),  # a fraction is of an inch or of nothing
        ("specific heat", "500", "inch"),
        ("length", "nan", "metric"),
        ("length", "0", "inch"),
        ("length", "5 kg", "inch"),
        ("length", "", "inch"),
    ],
)
def test_what_could_mean_two_things_is_refused(kind: str, text: str, units: str | None) -> None:
    with pytest.raises(InputError, match=r"^x: got "):
        read_value("x", kind, text, units)


def test_a_bare_line_force_is_pounds_a_foot_in_inch_mode() -> None:
    pound_N, foot_m = 4.4482216152605, 0.3048
    assert read_value("x", "line force", "20", "inch") == pytest.approx(20 * pound_N / foot_m)


def test_a_bare_fraction_is_of_an_inch() -> None:
    assert read_value("x", "length", "1 1/32", "inch") == pytest.approx(25.4 * 33 / 32)


def test_shares_need_no_unit_in_any_system() -> None:
    assert {read_value("x", "share", "0.5", units) for units in ("metric", "inch", None)} == {0.5}


def test_weights_by_size() -> None:
    assert read_weights("x", ["a=b=2", "c=0.5"]) == {"a=b": 2.0, "c": 0.5}
    for wrong in ("a", "=2", "a=0", "a=nan", "a=inf"):
        with pytest.raises(InputError, match=r"^x: got "):
            read_weights("x", [wrong])
