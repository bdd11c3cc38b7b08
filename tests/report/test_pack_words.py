"""Both packs a width can hold are told in one wording."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from packsim.report.words.display import Display
from packsim.report.words.numbers import pack_words
from packsim.study import study_line

ELEVEN = 60.0 * (1.0 + 10.0 * math.sqrt(0.75))


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        ({"width_mm": ELEVEN + 5.0}, "11 lanes"),
        ({"width_mm": ELEVEN - 2.0}, "10 lanes, or 11 squeezed by 2.0 mm"),
        ({"width_mm": ELEVEN + 5.0, "state": "blocks"}, "11 lanes, or 22 blocks"),
        ({"width_mm": 55.0}, "does not fit"),
    ],
)
def test_the_judged_lanes_and_what_they_might_be(small: SimpleNamespace, stage, words) -> None:
    (answer,) = study_line(small.line(small.stage(**stage))).answers
    assert pack_words(answer, Display().length) == words
