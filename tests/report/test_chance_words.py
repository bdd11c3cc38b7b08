"""What is said of a chance: one number in table and page, never against a verdict."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from packsim.chance import LineChance, Rate, StageChance
from packsim.counts.along_travel import room_along
from packsim.counts.intervals import agreement
from packsim.report.page.page import study_page
from packsim.report.words import chance_words as words
from packsim.report.words.display import Display
from packsim.study import study_line
from tests.small_line import small_line, small_stage

LINE = small_line(small_stage("wash"), small_stage("rinse"))


def stage(name: str, tips: float) -> StageChance:
    ends = np.array([[0.0, 0.0]] * 3)
    return StageChance(tips, (0.8 * tips, 1.25 * tips), 0.1, name, np.array([tips, 0, 0]), ends)


def chance(*tips: float, side: float = 0.5) -> LineChance:
    stages = tuple(map(stage, ("wash", "rinse"), tips))
    whole = sum(tips)
    line = Rate(whole, (0.8 * whole, 1.25 * whole), 0.1)
    return LineChance("big", stages, line, cast("Any", None), {}, side, 0.2, 1000)


def test_the_table_has_each_stage_and_the_line() -> None:
    told = words.Told("big", LINE, chance(14_700.0, 0.0004))
    assert told.rows == [
        ("wash", ("14,700 (11,800–18,400)", "14,700", "0", "0")),
        ("rinse", ("<0.001", "<0.001", "0", "0")),
        ("whole line", ("14,700 (11,800–18,400)", "14,700", "0", "0")),
    ]


def test_what_it_rests_on_is_named_and_whether_that_is_known() -> None:
    said = words.Told("big", LINE, chance(3.0, 0.0, side=0.3)).said
    assert "with 30 % of its slack to the left (as given)" in said[0]
    assumed = replace(
        LINE, assumed=(cast("Any", SimpleNamespace(key="mat.pack_enters", unit="", number=None)),)
    )
    assert "in the centre (assumed)" in words.rests_on(assumed, 0.5)
    # 1/0.1² tips at 3 in a million
    assert "33 million cans" in said[1]
    assert words.counting_text(chance(1e-40, 0.0)).endswith("a thousand years and more.")


def test_sides_that_differ_are_told_and_alike_ones_are_one() -> None:
    one, other = Rate(5.0, (4.0, 6.0), 0.1), Rate(2.0, (1.0, 3.0), 0.1)
    found = replace(chance(5.0, 0.0), sides={"left": one, "centre": one, "right": other})
    assert "right 2.0 (1.0–3.0) per million" in words.sides_text(found)
    assert "The same" in words.sides_text(replace(found, sides={"left": one, "right": one}))


@pytest.mark.parametrize(
    ("verdict", "tips", "word"),
    [
        ("held", 0.0, ""),
        ("loose", 2.0, "cans tip all the same"),
        ("can tip", 0.0, "not one in 10^9"),
        ("can tip", 2.0, ""),
    ],
)
def test_a_number_that_seems_to_gainsay_a_verdict_is_explained(
    verdict: str, tips: float, word: str
) -> None:
    answer = SimpleNamespace(stage="wash", tipping=SimpleNamespace(verdict=verdict))
    (said,) = words.beside_verdicts(chance(tips), [cast("Any", answer)]) or [""]
    assert word in said
    assert bool(said) == bool(word)


def test_rates_agree_where_their_intervals_overlap() -> None:
    assert agreement((1.0, 3.0), (2.0, 5.0)) == "agree"
    assert agreement((6.0, 9.0), (2.0, 5.0)) == "more counted"
    assert agreement((0.0, 1.0), (2.0, 5.0)) == "fewer counted"


def test_the_page_shows_it_or_says_how_to_get_it() -> None:
    study = study_line(LINE)
    shown = study_page(study, Display(), chances=[chance(14_700.0, 2.0)])
    assert "14,700 (11,800–18,400)" in shown
    assert "packsim report FILE --chance" not in shown
    assert "packsim report FILE --chance" in study_page(study, Display())


def test_a_lower_bound_is_said_first_with_the_room_that_decides_it() -> None:
    found = replace(chance(3.0, 0.0), lower_bound=True)
    assert not words.slices_text(LINE, chance(3.0, 0.0))
    said = words.Told("big", LINE, found).said[0]
    room = room_along(LINE, "big")
    assert said.startswith("Expected tips are a lower bound")
    assert f"{room.kept_mm:.3f} mm of room along travel" in said
    assert f"open about {room.opened_mm:.3f} mm" in said


def test_guides_that_step_in_are_named() -> None:
    room = SimpleNamespace(kept_mm=0.6, pushed_mm=18.0, pushed_at="rinse", cans_close_up=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("packsim.counts.along_travel.room_along", lambda *_: room)
        said = words.slices_text(LINE, chance(3.0, 0.0))
    assert said.startswith("Expected tips before rinse are too many")
    assert "push the pack 18.0 mm aside" in said
    assert said.endswith("packsim run counts on the whole line.")
