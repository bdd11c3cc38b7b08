"""A ± and readings in a file: what they mean, against independent statistics; and bad ones."""

from __future__ import annotations

import dataclasses
import importlib
import json
import math
from collections.abc import Iterator
from contextlib import suppress
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from packsim.errors import InputError
from packsim.line import InputRange, Scenario, range_of
from packsim.scenario import parse_scenario
from packsim.scenario.keys import Table, keys
from packsim.scenario.known.few_readings import spread_factors
from packsim.scenario.known.measured import MOST, read_measured
from packsim.scenario.known.table_inputs import TABLES, documented
from packsim.scenario.values.fields import Length, Pressure, Temperature, kind_of
from packsim.scenario.values.readers import Of

LENGTH, HEAT, BAR = kind_of(Length), kind_of(Temperature), kind_of(Pressure)


def ranged(text: str, key: str) -> InputRange:
    return range_of(parse_scenario(text), key)


def refused(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_scenario(text)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "kind", "value", "half"),
    [
        ("66.09 mm ± 0.05 mm", LENGTH, 66.09, 0.05),
        ("66.09 ± 0.05 mm", LENGTH, 66.09, 0.05),
        ("1391 mm +/- 1 mm", LENGTH, 1391.0, 1.0),
        ("1391 mm +- 1mm", LENGTH, 1391.0, 1.0),
        ("54 3/4 in ± 1/16 in", LENGTH, 54.75 * 25.4, 25.4 / 16.0),
        ("54 3/4 ± 1/16 in", LENGTH, 54.75 * 25.4, 25.4 / 16.0),
        ("1 m ± 1/16 in", LENGTH, 1000.0, 25.4 / 16.0),
        ("2 bar ± 10 %", BAR, 0.2, 0.02),
        ("60 degC ± 2 K", HEAT, 60.0, 2.0),
        ("140 degF ± 9 degF", HEAT, 60.0, 5.0),
    ],
)
def test_a_plus_minus_is_read_in_every_way_it_is_written(
    text: str, kind: Of, value: float, half: float
) -> None:
    found = read_measured(text, kind)
    assert float(found) == pytest.approx(value, rel=1e-14)
    assert (found.low, found.high) == pytest.approx((value - half, value + half), rel=1e-12)


@given(
    st.fractions(1, 2000, max_denominator=64),
    st.fractions(Fraction(1, 64), Fraction(1, 2), max_denominator=64),
    st.sampled_from(["mm", "cm", "m", "in", "ft"]),
    st.sampled_from(["mm", "cm", "m", "in", "ft"]),
)
def test_units_do_not_matter(number: Fraction, half: Fraction, unit: str, other: str) -> None:
    sizes = {"mm": 1, "cm": 10, "m": 1000, "in": Fraction(254, 10), "ft": Fraction(3048, 10)}
    low, off = number * sizes[unit], half * sizes[other]
    text = f"{number} {unit} ± {half} {other}"
    if not off < low <= 10**6 - off:
        return
    found = read_measured(text, LENGTH)
    assert float(found) == pytest.approx(float(low), rel=1e-12)
    assert found.high - float(found) == pytest.approx(float(off), rel=1e-9)


READINGS = st.lists(st.integers(6400, 6800), min_size=2, max_size=40)


@given(READINGS)
def test_readings_give_their_mean_and_the_interval_of_student(hundredths: list[int]) -> None:
    values = np.array(hundredths) / 100.0
    found = read_measured([f"{value:.2f} mm" for value in values], LENGTH)
    assert float(found) == pytest.approx(values.mean(), rel=1e-12)
    n, s = len(values), values.std(ddof=1)
    if s == 0.0:
        assert found.high - float(found) == pytest.approx(0.005)  # half of the last digit
        return
    low, high = stats.t.interval(0.95, n - 1, loc=values.mean(), scale=s / math.sqrt(n))
    expected = max(0.005, (high - low) / 2.0)
    assert found.high - float(found) == pytest.approx(expected, rel=1e-6)
    assert found.readings == n


@given(st.lists(st.integers(2500, 2700), min_size=5, max_size=20))
def test_readings_in_inches_are_those_in_millimetres(thousandths: list[int]) -> None:
    inches = read_measured([f"{value / 1000:.3f} in" for value in thousandths], LENGTH)
    assert inches.readings == len(thousandths)
    assert float(inches) == pytest.approx(25.4e-3 * float(np.mean(thousandths)), rel=1e-12)
    s = 25.4e-3 * float(np.std(thousandths, ddof=1))
    most = max(25.4e-3 / 2.0, spread_factors(len(thousandths))[1] * s)
    assert inches.spread[1] == pytest.approx(most, rel=1e-9)


@pytest.mark.parametrize(
    "texts", [("66.05 mm ± 0.02 mm", "66.09 mm ± 0.02 mm"), ("66.05 ± 0.02 mm", "66.09 ± 0.02 mm")]
)
def test_the_instrument_is_no_better_for_many_readings(texts: tuple[str, str]) -> None:
    few = read_measured(list(texts), LENGTH)
    many = read_measured(list(texts) * 50, LENGTH)
    s, t = np.std([66.05, 66.09], ddof=1), stats.t.ppf(0.975, 1)
    expected = math.hypot(t * s / math.sqrt(2), 0.02)
    assert few.high - float(few) == pytest.approx(expected, rel=1e-6)
    assert 0.02 < many.high - float(many) < 0.0205


def exact_factor(n: int, content: float, confidence: float) -> float:
    """The factor of a two-sided tolerance interval by its definition, for a normal spread.

    The interval mean ± k s holds the content if k s exceeds r(mean), half the width that does; the
    mean is normal with 1/√n, the square of s over that of all is χ²/ν, and both are independent.
    """
    z = np.linspace(-6.0, 6.0, 401)
    middle, below, r = z / math.sqrt(n), np.zeros(401), np.full(401, 20.0)
    for _ in range(80):
        mid = (below + r) / 2.0
        little = stats.norm.cdf(middle + mid) - stats.norm.cdf(middle - mid) < content
        below, r = np.where(little, mid, below), np.where(little, r, mid)

    def sure(k: float) -> float:
        enough = stats.chi2.sf((n - 1) * (r / k) ** 2, n - 1)
        return float(integrate.simpson(stats.norm.pdf(z) * enough, x=z))

    low, high = 1.0, 100.0
    for _ in range(60):
        mid = (low + high) / 2.0
        low, high = (mid, high) if sure(mid) < confidence else (low, mid)
    return high


@pytest.mark.parametrize("n", [5, 10, 30])
def test_the_tolerance_interval_is_that_of_its_definition(n: int) -> None:
    exact = exact_factor(n, 0.99, 0.95)
    assert 0.998 * exact <= spread_factors(n)[1] <= 1.016 * exact


def test_the_tolerance_interval_of_ten_bodies_holds_as_often_as_it_says() -> None:
    rng = np.random.default_rng(16)
    bodies = rng.normal(66.0, 0.03, size=(20_000, 10))
    mean, s = bodies.mean(axis=1), bodies.std(axis=1, ddof=1)
    k = spread_factors(10)[1]
    held = stats.norm.cdf(mean + k * s, 66.0, 0.03) - stats.norm.cdf(mean - k * s, 66.0, 0.03)
    assert np.mean(held >= 0.99) == pytest.approx(0.95, abs=0.01)


TEN = [66.05, 66.07, 66.02, 66.06, 66.05, 66.08, 66.04, 66.05, 66.03, 66.05]


def with_diameters(small: str, texts: list[str]) -> str:
    return small.replace(
        'catalogue = "us_12oz_std"', f'catalogue = "us_12oz_std"\ndiameter = {json.dumps(texts)}'
    )


def test_the_tolerance_of_a_can_follows_from_the_spread_of_bodies(small: str) -> None:
    line = parse_scenario(with_diameters(small, [f"{value} mm" for value in TEN]))
    can, s = line.sizes[0], float(np.std(TEN, ddof=1))
    assert can.diameter_mm == pytest.approx(np.mean(TEN), rel=1e-12)
    assert can.diameter_tol_mm == pytest.approx(exact_factor(10, 0.99, 0.95) * s, rel=3e-3)
    tolerance = range_of(line, "sizes[0].diameter_tol")
    assert (tolerance.kind, tolerance.high) == ("measured", can.diameter_tol_mm)
    sure = stats.norm.ppf(0.995) * s * math.sqrt(9.0 / stats.chi2.ppf(0.95, 9))
    assert tolerance.low == pytest.approx(sure, rel=1e-9)
    assert "sizes[body].diameter_tol" not in [entry.key for entry in can.assumed]


def test_few_bodies_say_nothing_of_the_spread(small: str) -> None:
    line = parse_scenario(with_diameters(small, ["66.05 mm", "66.07 mm", "66.02 mm"]))
    assert line.sizes[0].diameter_tol_mm == 0.18  # that of the catalogue


def test_a_published_tolerance_is_a_limit_to_what_five_bodies_say(small: str) -> None:
    wide = ["66.0 mm", "66.1 mm", "66.2 mm", "65.9 mm", "66.0 mm"]
    assert parse_scenario(with_diameters(small, wide)).sizes[0].diameter_tol_mm == 0.18
    own = with_diameters(small, wide).replace("us_12oz_std", "sleek_355ml")  # not from a source
    factor = spread_factors(5)[1]
    found = parse_scenario(own).sizes[0].diameter_tol_mm
    assert found == pytest.approx(factor * np.std([66.0, 66.1, 66.2, 65.9, 66.0], ddof=1))


def test_water_is_the_range_of_single_cans(small: str) -> None:
    shares = [30, 35, 28, 32, 31, 33, 29, 30]
    texts = json.dumps([f"{share} %" for share in shares])
    text = small.replace('duty = "flood"', f'duty = "flood"\nwater_in_dome = {texts}')
    half = spread_factors(8)[1] * np.std(shares, ddof=1)
    low, high = parse_scenario(text).stages[0].water_in_dome
    assert 100.0 * low == pytest.approx(np.mean(shares) - half)
    assert 100.0 * high == pytest.approx(np.mean(shares) + half)
    assert ranged(text, "stages[0].water_in_dome").readings == 8
    few = small.replace('duty = "flood"', 'duty = "flood"\nwater_in_dome = ["3 %", "4 %", "5 %"]')
    assert "5 readings or more" in refused(few)


def floats(thing: object) -> Iterator[object]:
    if isinstance(thing, float):
        yield thing
    elif isinstance(thing, tuple):
        for each in thing:
            yield from floats(each)
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        for one in dataclasses.fields(thing):
            if one.name != "ranges":
                yield from floats(getattr(thing, one.name))


def everywhere(small: str) -> str:
    """The small file with a ± behind every quantity that takes one."""
    lines, table = [], "top"
    for line in small.splitlines():
        if line.startswith("["):
            table = line.strip("[]").rpartition(".")[2]
        name, _, value = line.partition(" = ")
        takes = f"{table}.{name}" in documented() and value.startswith('"')
        lines.append(f'{name} = {value[:-1]} ± 1 %"' if takes and value[1].isdigit() else line)
    return "\n".join(lines).replace("degC ± 1 %", "degC ± 1 K")


def test_nouns_hold_plain_numbers_whatever_the_file_has(small: str) -> None:
    text = everywhere(small)
    assert text.count("±") > 15
    line: Scenario = parse_scenario(text)
    assert {type(each) for each in floats(line)} == {float}
    assert line == parse_scenario(small)
    measured = [one.key for one in line.ranges if one.kind == "measured"]
    assert len(measured) == text.count("±")


def test_every_key_takes_a_plus_minus_or_says_that_it_takes_none() -> None:
    """A key has a documented range, or is decided: there is no third sort."""
    importlib.import_module("packsim.scenario.lesson_tables")  # no scenario file needs it
    for table in Table.__subclasses__():
        for name, one in keys(table).items():
            if one.kind is None:
                continue
            known = f"{TABLES[table]}.{name}" in documented() if table in TABLES else False
            assert known != one.kind.exact, f"{table.__name__}.{name}"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"600 N"', '"600 N ± 700 N"', "guides.tension: got 600 N ± 700 N"),
        ('"600 N"', '"600 N ± 5 mm"', 'a ± of the same sort as the value, such as "20 N ± 1 N"'),
        ('"600 N"', '"600 N ± 5"', "a ± with its unit"),
        ('"600 N"', '"600 N ± 0 N"', "a ± above 0"),
        ('"600 N"', '"600 N ±"', "a value, ± and how much"),
        ('"600 N"', '"600 N ± 5 N ± 5 N"', "a value, ± and how much"),
        ('"600 N"', '"600 ± 10 %"', "the text has no unit"),
        ('"60 degC"', '"60 degC ± 5 %"', "a share of a temperature means nothing"),
        ('"588 mm"', '["588 mm"]', "2 to 200 readings of it; here 1"),
        (
            '"588 mm"',
            '["588 mm", "23.1 in"]',
            'one unit for all readings of it, here "in" and "mm"',
        ),
        ('"588 mm"', '["588 mm", "588 bar"]', "a length above 0"),
        ('"588 mm"', '["588 mm", "589 mm", "58.9 mm"]', "number 3, 58.9 mm, is far off the others"),
        ('"588 mm"', '["588 mm", "wide"]', "number 2 is 'wide'"),
        ('"588 mm"', '["588 mm", "588 mm ± 1 mm"]', "the same ± behind each reading"),
        ('"588 mm"', '["588 mm ± 1 N", "588 mm ± 1 N"]', "a ± of the same sort"),
        ('"1 m"', '"1 m ± 2 m"', "stages[0].headers[0].from_stage_start: got 1 m ± 2 m"),
        ('name = "small"', 'name = "small"\nsafety_factor = "2 ± 1"', "decided, not measured"),
    ],
)
def test_what_cannot_be_is_refused_in_words(small: str, old: str, new: str, said: str) -> None:
    assert old in small
    assert said in refused(small.replace(old, new))


def test_a_thousand_readings_are_refused_with_the_limit(small: str) -> None:
    text = refused(with_diameters(small, ["66.05 mm"] * 1000))
    assert f"2 to {MOST} readings of it, or their mean and its ±; here 1000" in text


def test_all_that_is_wrong_is_said_at_once(small: str) -> None:
    spoilt = small.replace('"600 N"', '"600 N ± 1 mm"').replace('"588 mm"', '["588 mm", "2 in"]')
    assert len(refused(spoilt).splitlines()) == 2


def test_a_body_that_cannot_be_is_refused(small: str) -> None:
    flat = small.replace('catalogue = "us_12oz_std"', 'diameter = "66 mm"\nheight = "12 mm"')
    assert "sizes[0].height: got 12 mm" in refused(flat)


@given(st.text(alphabet="0123456789 ./±+-%mind", max_size=14))
def test_no_text_ends_in_anything_but_a_value_or_a_refusal(text: str) -> None:
    with suppress(ValueError):
        assert math.isfinite(LENGTH.read(f"{text} ± {text}"))
