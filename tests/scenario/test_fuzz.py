"""Nothing but `InputError` ever comes out of a bad text, and it is always one printable line."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.scenario import parse_scenario
from packsim.scenario.values.quantities import Kind, Refused, read_quantity
from tests.fuzz.values import written
from tests.scenario_schema import every_kind

SHIPPED = sorted((Path(__file__).resolve().parents[2] / "scenarios").glob("*.toml"))
SEEDS = [path.read_text(encoding="utf-8") for path in SHIPPED]
SCRAPS = st.sampled_from(
    ["nan", "inf", "-", '"', "[", "]", "{", "}", "=", ".", "\n", "[[stages]]\n", "0", "1e400",
     "-1", "9" * 30, "true", "mm", "degC", "**", "^", "/", "%", "\x00", "é", "\u2028", "# ", " "]
)  # fmt: skip
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["5 mm", "1 bar", "60 degC", "-1 mm", "1e9 m", "us_12oz_std", "oven"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=4,
)

EXAMPLES = settings().max_examples
"""As many as of other properties, and here some times as many."""


def outcome(text: str) -> None:
    problem = None
    try:
        parse_scenario(text, file="fuzz.toml")
    except InputError as caught:
        problem = caught
    if problem is not None:
        assert problem.file == "fuzz.toml"
        assert all(line.isprintable() for line in str(problem).splitlines()), str(problem)


@settings(max_examples=2 * EXAMPLES)
@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    outcome(text)


@settings(max_examples=2 * EXAMPLES)
@given(st.sampled_from(SEEDS), st.data())
def test_a_shipped_file_with_scraps_in_it(text: str, data: st.DataObject) -> None:
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(text)))
        cut = data.draw(st.integers(0, 12))
        text = text[:at] + data.draw(SCRAPS) + text[at + cut :]
    outcome(text)


@settings(max_examples=2 * EXAMPLES, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(SEEDS), st.data())
def test_a_shipped_file_with_another_value(text: str, data: st.DataObject) -> None:
    lines = text.splitlines()
    places = [i for i, line in enumerate(lines) if " = " in line and line[0].islower()]
    at = data.draw(st.sampled_from(places))
    lines[at] = lines[at].partition("=")[0] + "= " + written(data.draw(VALUES))
    outcome("\n".join(lines))


@settings(max_examples=2 * EXAMPLES)
@given(st.sampled_from(SEEDS), st.data())
def test_a_shipped_file_with_a_misspelt_key(text: str, data: st.DataObject) -> None:
    places = [found.span() for found in re.finditer(r"\b[a-z_]+(?= = |\]\n)", text)]
    start, end = data.draw(st.sampled_from(places))
    at = data.draw(st.integers(start, end - 1))
    outcome(text[:at] + data.draw(st.sampled_from(["", "x", "_", "1", "-"])) + text[at + 1 :])


@settings(max_examples=3 * EXAMPLES)
@given(
    st.text("0123456789./ -+eE", min_size=1, max_size=8),
    st.text("mkbarpsidegCFNJ/*^()%°²·1239 _µ", max_size=14),
    st.sampled_from(every_kind()),
)
def test_any_quantity(number: str, unit: str, kind: Kind) -> None:
    try:
        value = read_quantity(number + unit, kind)
    except Refused:
        return
    assert read_quantity(kind.low, kind) <= value if not kind.above else value > 0.0


def test_the_writer_of_these_tests_writes_toml() -> None:
    value = {"a b": [1, 2.5, True, 'q"\n'], "é": {}}
    assert tomllib.loads("x = " + written(value)) == {"x": value}
