"""Numbers and dates of many countries, against a general library that writes them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from babel.dates import format_date
from babel.numbers import format_decimal
from hypothesis import assume, given
from hypothesis import strategies as st

from packsim.scenario.sheets.typed import Unclear, habits
from packsim.scenario.values.quantities import _named
from packsim.scenario.values.ranges import IN_US

UNITS = {*_named(), *IN_US, *IN_US.values(), "m/s^2", "1/s", "J/(kg K)", "µm/(m K)"}
LOCALES = ("en_US", "de_DE", "de_CH", "fr_FR", "sv_SE", "pl_PL", "es_MX", "it_IT", "cs_CZ", "nb_NO")
NUMBERS = st.decimals(0, 10**7, allow_nan=False, places=4)


def written_in(number: Decimal, locale: str, decimals: int) -> str:
    return format_decimal(number, format=f"#,##0.{'0' * decimals}".rstrip("."), locale=locale)


def tried(read: Callable[[str], object], text: str) -> tuple[Any, str]:
    """Return what is read, or None and why it is refused."""
    try:
        return read(text), ""
    except Unclear as unclear:
        return None, str(unclear)


def decimals_of(number: Decimal, places: int) -> Decimal:
    return round(number, places) if places else Decimal(round(number))


@given(numbers=st.lists(NUMBERS, min_size=1, max_size=5), decimals=st.integers(0, 4),
       locale=st.sampled_from(LOCALES))  # fmt: skip
def test_what_a_country_writes_is_read_once_another_cell_tells(
    numbers: list[Decimal], decimals: int, locale: str
) -> None:
    shown = [decimals_of(number, decimals) for number in numbers]
    texts = [written_in(number, locale, decimals) for number in shown]
    how = habits([*texts, written_in(Decimal("1234567.89"), locale, 2)])
    assert [Decimal(how.plain(text)) for text in texts] == shown


@given(number=NUMBERS, decimals=st.integers(0, 4), locale=st.sampled_from(LOCALES))
def test_alone_a_number_is_read_right_or_refused_with_both_readings(
    number: Decimal, decimals: int, locale: str
) -> None:
    shown = decimals_of(number, decimals)
    text = written_in(shown, locale, decimals)
    how = habits([text])
    read, refused = tried(how.plain, text)
    lone_point = text.count(".") == 1 and "," not in text
    if read is None:
        assert f"{shown:f}" in refused  # the right one is among those shown
    else:  # 1.391 is our way, unless commas are met
        assert Decimal(read) == shown or (lone_point and not decimals)


@given(number=NUMBERS, unit=st.sampled_from(sorted(UNITS)))
def test_what_is_in_our_way_already_stays(number: Decimal, unit: str) -> None:
    text = f"{number:f} {unit}"
    assert habits([text]).plain(text) == text


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("1,391.5", "1391.5"),
        ("1.391,5", "1391.5"),
        ("1 391,5", "1391.5"),
        ("1\u202f391,5 mm", "1391.5 mm"),
        ("1'391.5", "1391.5"),
        ("1391,5", "1391.5"),
        ("0,391", "0.391"),
        (",5", "0.5"),
        ("1,39E+03", "1.39E+03"),
        ("1,391E+03", "1.391E+03"),
        ("66,09 ±0,05 mm", "66.09 ±0.05 mm"),
        ("54 3/4 in", "54 3/4 in"),
        ("2 11/16 in", "2 11/16 in"),
        ("5 125/128 in", "5 125/128 in"),
        ("\u22123,5 mm", "-3.5 mm"),
        ("1,391,500", "1391500"),
        ("12,5%", "12.5%"),
        ("along", "along"),
    ],
)
def test_a_number_that_can_be_one_thing_only_needs_no_other_cell(text: str, plain: str) -> None:
    assert habits([]).plain(text) == plain


@pytest.mark.parametrize(
    ("others", "divider", "text", "read"),
    [
        ([], ",", "1,391", "1391 or 1.391"),
        ([], "\t", "1,391 mm", "1391 or 1.391"),
        (["66.09", "66,11"], ",", "1,391", "1391 or 1.391"),
        ([], ";", "1.391", "1391 or 1.391"),
        ([], ",", "588 589", "588589 without a gap"),
        ([], ",", "1,39,5", "1,39,5 is none"),
        ([], ",", "#N/A", "an error"),
        ([], ",", "####", "too narrow"),
        ([], ",", "4-Mar", "made a date of it"),
        ([], ",", "04. M\u00e4rz", "made a date of it"),
        ([], ",", "12.03.2026", "made a date of it"),
        ([], ",", "Mrz 16", "made a date of it"),
    ],
)
def test_a_number_that_can_be_two_or_none_is_refused(
    others: list[str], divider: str, text: str, read: str
) -> None:
    with pytest.raises(Unclear, match=read):
        habits([*others, text], divider).plain(text)


@pytest.mark.parametrize(
    ("others", "divider", "text", "plain"),
    [
        (["66,09"], ",", "1,391", "1.391"),
        (["66.09"], ",", "1,391", "1391"),
        (["1.391,5"], "\t", "1.391", "1391"),
        (["1,391,500"], "\t", "1,391", "1391"),
        ([], ";", "1,391", "1.391"),  # a spreadsheet that divides so has commas for decimals
        ([], ",", "2.602", "2.602"),  # as our own files write
    ],
)
def test_another_cell_tells(others: list[str], divider: str, text: str, plain: str) -> None:
    assert habits(others, divider).plain(text) == plain


def test_a_count_is_read_with_its_thousands() -> None:
    how = habits([])
    assert [how.count(text) for text in ("60,000,000", "60 000", "60'000", "1,391", "-9")] == [
        60_000_000, 60_000, 60_000, 1391, -9,
    ]  # fmt: skip
    assert [how.count(text) for text in ("many", "2.5", "nan", "", "1e3")] == [None] * 5
    with pytest.raises(Unclear, match=r"60000 or 60\.000"):
        how.count("60.000")  # sixty, or sixty thousand
    assert habits(["66,09"]).count("60.000") == 60_000


@given(day=st.dates(dt.date(2000, 1, 1), dt.date(2099, 12, 31)), locale=st.sampled_from(LOCALES),
       short=st.booleans())  # fmt: skip
def test_a_date_is_read_right_or_refused_with_the_right_one_shown(
    day: dt.date, locale: str, short: bool
) -> None:
    text = format_date(day, format="short" if short else "medium", locale=locale)
    other = format_date(dt.date(2026, 12, 31), format="short", locale=locale)
    assume(text.isascii())
    alone, refused = tried(habits([text]).day, text)
    assert alone in (day, None)
    assert not refused or str(day) in refused
    assert habits([text, other]).day(text) in (day, None)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-03-12", "2026-03-12"),
        ("2026/03/12", "2026-03-12"),
        ("12.03.2026", "2026-03-12"),
        ("12. 3. 2026", "2026-03-12"),
        ("12.03.26", "2026-03-12"),
        ("13/12/2026", "2026-12-13"),
        ("12/13/2026", "2026-12-13"),
        ("3/3/2026", "2026-03-03"),
        ("12-Mar-26", "2026-03-12"),
        ("12 March 2026", "2026-03-12"),
        ("12.03.2026 00:00", "2026-03-12"),
    ],
)
def test_a_date_that_can_be_one_day_only(text: str, day: str) -> None:
    assert habits([]).day(text) == dt.date.fromisoformat(day)


def test_a_date_with_slashes_needs_another_that_tells() -> None:
    with pytest.raises(Unclear, match="2026-12-03 or 2026-03-12"):
        habits(["3/12/2026"]).day("3/12/2026")
    assert habits(["12/31/2026"]).day("3/12/2026") == dt.date(2026, 3, 12)
    assert habits(["31/12/2026"]).day("3/12/2026") == dt.date(2026, 12, 3)
    with pytest.raises(Unclear):
        habits(["12/31/2026", "31/12/2026"]).day("3/12/2026")
    assert [habits([]).day(text) for text in ("46093", "5 March", "31.02.2026", "late")] == [
        None
    ] * 4


@given(
    text=st.text("0123456789.,'/- \u00a0±mE+%#", max_size=20),
    other=st.text("0123.,", max_size=8),
    divider=st.sampled_from(",;\t"),
)
def test_no_text_breaks_the_reader(text: str, other: str, divider: str) -> None:
    how = habits([text, other], divider)
    for read in (how.plain, how.count, how.day):
        tried(read, text)
