"""A difference of tips in words: nothing it says goes further than its interval."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from packsim.chance import Rate
from packsim.compare.comparison import Change
from packsim.report.words.compare_words import change_cells, size_lines


def change(by: float, low: float, high: float) -> Change:
    return Change("tips_per_million", by, (low, high))


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (change(0.0, 0.0, 0.0), ("0", "same")),
        (change(-2e-4, -9e-4, 3e-4), ("below 0.001", "open")),
        (change(-2e-4, -9e-4, 5.0), (">−0.001 (>−0.001 to 5.0)", "open")),
        (change(-6.0, -8.0, -4.0), ("−6.0 (−8.0 to −4.0)", "fewer")),
    ],
)
def test_a_difference_in_a_cell(one: Change, said: tuple[str, str]) -> None:
    assert change_cells(one) == said


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (change(0.0, -79.0, 0.0), "as many tips or fewer; the doubt leaves open which"),
        (change(0.0, 0.0, 79.0), "as many tips or more; the doubt leaves open which"),
        (change(1.0, -79.0, 79.0), "the doubt leaves open which tips more"),
    ],
)
def test_what_the_doubt_leaves_open_is_no_wider_than_the_interval(one: Change, said: str) -> None:
    chance = SimpleNamespace(reason="", line=Rate(0.0, (0.0, 0.0), 0.0), stages=())
    found = SimpleNamespace(names=("today", "changed"))
    size = SimpleNamespace(chances=(chance, chance), changes=(one,), stages=())
    assert size_lines(cast("Any", found), cast("Any", size))[1].endswith(f": {said}")
