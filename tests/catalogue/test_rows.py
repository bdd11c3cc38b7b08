"""The table of sizes: complete, honest about its marks, consistent by volume."""

from __future__ import annotations

import math
import re

import pytest

from packsim.catalogue import MARKS, Marked, SizeRow, catalogue_sizes, size_row
from packsim.errors import InputError

ROWS = catalogue_sizes()


def test_ids_are_unique_and_rows_complete() -> None:
    ids = [row.id for row in ROWS]
    assert len(set(ids)) == len(ids) >= 12
    for row in ROWS:
        assert re.fullmatch(r"[a-z0-9_]+", row.id)
        assert row.label
        assert row.source
        assert row.grade in ("A", "C", "-")
        for key in ("diameter_mm", "diameter_tol_mm", "finished_height_mm", "trimmed_height_mm"):
            assert getattr(row, key).mark in MARKS


def test_twelve_ounce_row_is_the_published_one() -> None:
    # Voluntary Can and End Dimension Reference Manual: 2.602 +/- 0.007 in, 4.812 +/- 0.015 in
    row = size_row("us_12oz_std")
    assert row.diameter_mm.value == pytest.approx(2.602 * 25.4, abs=0.005)
    assert row.diameter_tol_mm.value == pytest.approx(0.007 * 25.4, abs=0.005)
    assert row.finished_height_mm.value == pytest.approx(4.812 * 25.4, abs=0.005)
    assert row.finished_height_tol_mm.value == pytest.approx(0.015 * 25.4, abs=0.005)
    assert (row.grade, row.diameter_mm.mark) == ("A", "read")


def test_no_trimmed_height_pretends_to_be_read() -> None:
    assert {row.trimmed_height_mm.mark for row in ROWS} == {"computed"}
    for row in ROWS:
        over = row.trimmed_height_mm.value - row.finished_height_mm.value
        assert 1.0 < over < 3.5  # computed: what flange and neck take


@pytest.mark.parametrize("row", [row for row in ROWS if row.end == "202"], ids=lambda row: row.id)
def test_trimmed_height_follows_the_stated_rule(row: SizeRow) -> None:
    neck = 2.063 * 25.4  # 202 neck plug diameter, same manual as the 12 oz row
    reach = (row.diameter_mm.value - neck) / 2.0
    stretch = math.log(row.diameter_mm.value / neck) * (reach + 3.0)
    least = row.finished_height_mm.value + reach * math.tan(math.pi / 12.0) + 1.5 - stretch
    trimmed = row.trimmed_height_mm
    assert trimmed.value == pytest.approx(least + stretch / 2.0, abs=0.15)
    assert trimmed.low < least < least + stretch < trimmed.high


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.id)
def test_height_over_content_leaves_room_for_headspace_dome_and_neck(row: SizeRow) -> None:
    bore = math.pi / 4.0 * (row.diameter_mm.value - 0.2) ** 2
    assert 16.0 < row.finished_height_mm.value - row.capacity_ml * 1e3 / bore < 25.0


def test_heights_of_one_body_differ_by_their_content() -> None:
    # 12 oz to 16 oz and to 330 ml by volume, against the heights read elsewhere
    twelve = size_row("us_12oz_std")
    bore = math.pi / 4.0 * (twelve.diameter_mm.value - 0.2) ** 2
    for other in ("us_16oz_473ml", "eu_330ml_std"):
        row = size_row(other)
        grown = (row.capacity_ml - twelve.capacity_ml) * 1e3 / bore
        assert row.finished_height_mm.value == pytest.approx(
            twelve.finished_height_mm.value + grown, abs=0.5
        )


def test_sources_name_no_host() -> None:
    for row in ROWS:
        text = " ".join((row.source, row.note, row.label))
        assert not re.search(r"https?:|www\.|\.(com|org|net|io|de)\b", text)


# --- size numbers -----------------------------------------------------------------------------


def size_name_mm(name: str) -> float:
    """Inches and sixteenths of a body's trade name, the rule of the can makers' standards page."""
    return 25.4 * (int(name[0]) + int(name[1:]) / 16.0)


def test_no_body_measures_what_its_name_says() -> None:
    named = [row for row in ROWS if re.fullmatch(r"\d{3}", row.body_class)]
    assert len(named) >= 10
    for row in named:
        assert abs(row.diameter_mm.value - size_name_mm(row.body_class)) > 0.5
    twelve = size_row("us_12oz_std")
    assert twelve.diameter_mm.value == pytest.approx(66.09)
    assert twelve.diameter_tol_mm.value == pytest.approx(0.18)
    assert size_name_mm("211") > twelve.diameter_mm.value + 10 * twelve.diameter_tol_mm.value


# --- marks ------------------------------------------------------------------------------------


def test_a_mark_says_how_a_number_is_known() -> None:
    assert Marked(1.0, "read").measured
    assert not Marked(1.0, "memory").measured
    reason = Marked(2.0, "memory", 1.0, 3.0, "a guess").reason
    assert reason == "from memory, may be 1 to 3: a guess"
    assert Marked(2.0, "computed").reason == "computed"


def test_wrong_marks_and_ranges_are_refused() -> None:
    with pytest.raises(InputError, match="mark"):
        Marked(1.0, "measured")
    with pytest.raises(InputError, match="value"):
        Marked(1.0, "read", 2.0, 3.0)
