"""Names that could do harm, a few in the usual tests: ``python -m tests.content`` has all."""

from __future__ import annotations

import pytest

from packsim.report.charts.chart_data import LONGEST_NAME, short_name
from tests.content.__main__ import harm_of, too_long
from tests.content.harmless import of_csv, of_page, of_svg
from tests.content.hostile import LONGEST, NAMES

_HARMS = ("formula", "script", "right to left", "terminal", "mathematics", "markup of a terminal")
ALL_AT_ONCE = "".join(NAMES[one] for one in _HARMS)


SLOW = frozenset({"design", "doubt", "report", "run", "study"})
"""Commands tried with ``--all``; the others write such files too, but for PDF."""


@pytest.mark.usefixtures("coarse_look")
def test_a_name_of_many_harms_does_none_in_any_file_or_text():
    tried, wrong = harm_of(ALL_AT_ONCE, SLOW)
    assert wrong == []
    assert {".html", ".svg", ".csv", ".dxf", ".json", ".png", ".toml"} <= set(tried)


@pytest.mark.all
@pytest.mark.usefixtures("coarse_look")
@pytest.mark.parametrize(
    "name", [ALL_AT_ONCE, NAMES["lines"], NAMES["wide"], NAMES["drawing codes"]]
)
def test_no_name_does_harm(name: str):
    tried, wrong = harm_of(name)
    assert wrong == []
    assert {".html", ".svg", ".csv", ".dxf", ".json", ".png", ".pdf", ".toml"} <= set(tried)


def test_names_are_as_long_as_they_may_be():
    assert max(len(name) for name in NAMES.values()) + len(" w") <= LONGEST


def test_names_far_too_long_are_refused_by_key_in_few_words():
    assert too_long() == []


def test_the_readers_notice_harm():
    page, svg = b"<p>a</p>", b'<svg xmlns="http://www.w3.org/2000/svg"><text>a</text></svg>'
    assert of_page(page, page) == of_svg(svg, svg) == of_csv(b"a,-1.5\n", b"a,1\n") == []
    assert of_page(b"<p>a<script>1</script></p>", page)
    assert of_page(b'<p onclick="x">a</p>', page)
    assert of_page("<p>\u202ea</p>".encode(), page)
    assert of_svg(svg.replace(b"<text>", b'<text onload="x">'), svg)
    assert of_csv(b"a,=1+1\n", b"a,1\n")
    assert of_csv(b"a,b,c\n", b"a,1\n")


def test_a_name_beside_a_chart_is_cut_where_it_is_very_long():
    assert short_name("wash, sleek body") == "wash, sleek body"
    assert len(short_name("m" * 190)) == LONGEST_NAME
    assert len(short_name("名" * 190)) == LONGEST_NAME // 2 + 1
