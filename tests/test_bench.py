"""The benchmark table: its arithmetic, its shape, and that what it measures can be measured."""

from __future__ import annotations

import math

import pytest

from tests.bench.__main__ import PARTS
from tests.bench.table import HEAD, Row, digits, markdown


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (0.01234, "0.0123"),
        (9.996, "10.0"),
        (1.0, "1.00"),
        (123.4, "123"),
        (12345.0, "12,300"),
    ],
)
def test_three_digits_that_count(value: float, text: str) -> None:
    assert digits(value) == text


def test_a_goal_is_met_only_when_every_limit_of_it_is() -> None:
    def row(ours: float, theirs: float | None = None) -> Row:
        return Row("step", "fresh", ours, "ms", "peer", theirs, at_most=2.0, at_least=3.0)

    assert row(2.0, 6.0).met
    assert not row(2.1, 60.0).met
    assert not row(1.0, 2.9).met
    assert not row(1.0).met
    assert not row(math.inf, 60.0).met
    assert Row("step", "fresh", 1.0).met is None
    assert row(2.0, 6.0).cells[5:] == ("3.00 ×", "≤ 2 ms, ≥ 3 ×", "met")


def test_the_table_names_what_is_missed() -> None:
    slow = Row("a slow thing", "fresh", 3.0, at_most=2.0)
    text = markdown({"one": [slow, Row("another", "", 1.0, at_most=2.0)]}, {"one": "Why."})
    assert "Goals: 1 met, 1 missed (a slow thing)." in text
    rows = [line for line in text.splitlines() if line.startswith("|")]
    assert {line.count("|") for line in rows} == {len(HEAD) + 1}
    assert rows[2].endswith("≤ 2 ms | MISSED |")


@pytest.mark.all
@pytest.mark.parametrize("part", ["step", "looks", "pairs", "leans", "nozzles"])
def test_small_packs_are_measured_beside_peers_that_agree(part: str) -> None:
    """Each part compares both answers before it times anything, and raises if they differ."""
    measure, _ = PARTS[part]
    for row in measure(True):
        assert 0.0 < row.ours < math.inf
        assert row.theirs is None or row.theirs > 0.0
