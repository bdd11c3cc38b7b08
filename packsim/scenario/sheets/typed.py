"""Numbers and dates as people type them, and as spreadsheets of many countries save them.

A comma or a point in a number divides decimals or thousands; which, the other cells of the sheet
may tell. What nothing tells is refused, with both readings, and never guessed.
"""

import datetime as dt
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from typing import Final

_GAP: Final = "[ \u00a0\u2009\u202f'’]"
_RUN: Final = re.compile(
    rf"(?:\d|(?<![\w.,])[.,](?=\d))(?:\d|[.,](?=\d)|{_GAP}(?=\d{{3}}(?![\d/])))*"
)
"""A number with what divides it; a fraction after a whole number is a run of its own."""

_EXPONENT: Final = re.compile(r"\s*[eE][+-]?\d")
_DAY: Final = re.compile(r"(\d{1,4})([./-])\s?(\d{1,2})\2\s?(\d{2,4})(?:[ T]0?0:00(?::00)?)?")
_NAMED: Final = re.compile(r"(\d{1,2})[. -]+([A-Za-z]{3,9})\.?[ ,-]+(\d{4}|\d{2})")
_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun",
                  "jul", "aug", "sep", "oct", "nov", "dec")  # fmt: skip
_MONTH: Final = (
    "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|m\u00e4r|mrz|mai|okt|dez|f\u00e9v|fev|avr|"
    "ao\u00fb|d\u00e9c|ene|abr|ago|dic|gen|mag|giu|lug|set|ott|out)[^\\W\\d]*"
)
_MADE_A_DATE: Final = re.compile(
    rf"\d{{1,4}}[./-]\d{{1,2}}[./-]\d{{2,4}}.*|\d{{1,2}}[-. ]+{_MONTH}\.?(?:[-. ]+\d{{2,4}})?"
    rf"|{_MONTH}\.?[-. ]\d{{2,4}}",
    re.IGNORECASE,
)
"""What spreadsheets of the larger languages make of a fraction, or of decimals behind a point."""


class Unclear(ValueError):
    """What is typed can be read in two ways, or in none; says what would be understood."""


@dataclass(frozen=True)
class Habits:
    """How a sheet writes numbers and dates, as far as its cells tell.

    Parameters
    ----------
    decimal : frozenset of str
        Signs that stand before decimals in some cell, "." or ","; both where cells disagree.
    first : frozenset of str
        What comes first in some date with slashes, "day" or "month".
    divider : str
        What divides the cells: a spreadsheet takes a semicolon where the comma is for decimals.
    """

    decimal: frozenset[str]
    first: frozenset[str]
    divider: str = ","

    def _is_decimal(self, sign: str) -> bool | None:
        """Whether a sign stands before decimals; None where nothing tells.

        A point is the sign of our own files: it is decimal unless the sheet speaks of commas.
        """
        if len(self.decimal) == 1:
            return sign in self.decimal
        if self.decimal or (self.divider == ";") == (sign == "."):
            return None
        return True if sign == "." or self.divider == ";" else None

    def plain(self, text: str) -> str:
        """Return a text with its numbers in our way: a point before decimals, else nothing.

        Raises `Unclear` for a number that can be read in two ways, and for what a spreadsheet makes
        of a number it takes for something else.

        Examples
        --------
        >>> german = habits(["66,09"], ";")
        >>> german.plain("1.391,5 mm"), german.plain("1.391 mm"), german.plain("54 3/4 in")
        ('1391.5 mm', '1391 mm', '54 3/4 in')
        """
        if text.startswith("#"):
            raise Unclear("a value; the spreadsheet shows an error, or its column is too narrow")
        if _MADE_A_DATE.fullmatch(text):
            raise Unclear(
                "a value; the spreadsheet made a date of it: format the cell as text, type it again"
            )
        text = text.replace("\u2212", "-")
        return _RUN.sub(lambda run: self._number(run[0], text[run.end() :]), text)

    def _number(self, run: str, after: str) -> str:
        read = _read(run, after)
        if isinstance(read, str):
            return read
        small, large, sign = read
        if sign == " ":
            raise Unclear(f"one reading in a cell, or {large} without a gap")
        is_decimal = self._is_decimal(sign)
        if is_decimal is None:
            name = "comma" if sign == "," else "point"
            raise Unclear(
                f"{large} or {small}: the {name} may stand for thousands or for decimals, and no "
                "other cell tells; write one of the two"
            )
        return small if is_decimal else large

    def count(self, text: str) -> int | None:
        """Return a count; None for what is none, `Unclear` for what may be two.

        Examples
        --------
        >>> habits(["66.09"]).count("60,000"), habits([]).count("1,391"), habits([]).count("4.5")
        (60000, 1391, None)
        """
        run = _RUN.fullmatch(text.lstrip("-"))
        if run is None:
            return None
        read = _read(run[0], "")
        if isinstance(read, tuple):
            small, large, sign = read
            whole = sign != " " and float(small).is_integer()
            if whole and self._is_decimal(sign) is not False:
                raise Unclear(f"{large} or {small}: the sign may stand for thousands or decimals")
            read = large
        if not float(read).is_integer():
            return None
        return int(float(read)) * (-1 if text.startswith("-") else 1)

    def day(self, text: str) -> dt.date | None:
        """Return a date; None for what is none, `Unclear` for what may be two.

        Understood are 2026-03-12, 12.03.2026, 12-Mar-2026, and 3/12/2026 where another date of the
        sheet tells which of its numbers is the month. Years of two digits are of this century.

        Examples
        --------
        >>> habits(["13/2/2026"]).day("3/12/2026"), habits([]).day("12.03.2026")
        (datetime.date(2026, 12, 3), datetime.date(2026, 3, 12))
        """
        with suppress(ValueError):
            return dt.date.fromisoformat(text[:10]) if text[4:5] == "-" else _of_name(text)
        found = _DAY.fullmatch(text)
        if found is None:
            return None
        one, two, last = int(found[1]), int(found[3]), int(found[4])
        if len(found[1]) == 4:
            return _date(one, two, last)
        days = {"day": _date(last, two, one), "month": _date(last, one, two)}
        if found[2] == "." or days["day"] == days["month"]:
            return days["day"]
        possible = {name: day for name, day in days.items() if day is not None}
        told = {name: day for name, day in possible.items() if name in self.first}
        if len(possible) < 2 or len(told) == 1:
            return next(iter((told or possible).values()), None)
        raise Unclear(
            f"{days['day']} or {days['month']}: no other date of the sheet tells which number is "
            "the month; write it as year-month-day"
        )


def habits(texts: Iterable[str], divider: str = ",") -> Habits:
    """Return how the cells with these texts write numbers and dates, and what divides them."""
    decimal: set[str] = set()
    first: set[str] = set()
    for text in texts:
        day = _DAY.fullmatch(text)
        if day is not None:
            if day[2] != "." and len(day[1]) < 4 and max(int(day[1]), int(day[3])) > 12:
                first.add("day" if int(day[1]) > 12 else "month")
            continue
        for run in _RUN.finditer(text):
            decimal |= _proof(run[0], text[run.end() :])
    return Habits(frozenset(decimal), frozenset(first), divider)


def _read(run: str, after: str) -> str | tuple[str, str, str]:
    """Return a run of digits as a plain number, or both that it may be, and the sign in question.

    ``after`` is what follows it. `Unclear` where it is no number.
    """
    parts = re.split(_GAP, run)
    if len(parts) > 1:
        last = re.fullmatch(r"\d{3}(?:[.,](\d+))?", parts[-1])
        if last is None or not all(re.fullmatch(r"\d{1,3}", part) for part in parts[:-1]):
            raise Unclear(f"a number; {run} is none")
        joined = "".join(parts).replace(",", ".")
        if len(parts) == 2 and len(parts[0]) == 3 and " " in run and not last[1]:
            return parts[0], joined, " "  # may be two readings of three digits
        return joined
    found = re.fullmatch(r"(.*)([.,])(\d+)", run)
    if found is None:
        return run
    head, sign, other = found.groups()
    grouped = re.fullmatch(r"\d{1,3}(?:([.,])\d{3})+", head)
    if re.fullmatch(r"\d*", head):
        small = f"{head or '0'}.{other}"
        maybe = len(other) == 3 and re.fullmatch(r"[1-9]\d{0,2}", head)
        return (small, head + other, sign) if maybe and not _EXPONENT.match(after) else small
    if grouped and len(set(re.findall("[.,]", head))) == 1:
        digits = head.replace(grouped[1], "")
        if grouped[1] != sign:
            return f"{digits}.{other}"
        if len(other) == 3:
            return digits + other
    raise Unclear(f"a number; {run} is none")


def _proof(run: str, after: str) -> set[str]:
    """Return the sign before decimals that a run of digits proves, if it proves one."""
    try:
        read = _read(run, after)
    except Unclear:
        return set()
    signs = re.findall("[.,]", run)
    if not signs or isinstance(read, tuple):
        return set()
    if len(signs) > 1 and len(set(signs)) == 1:  # thousands, so the other one is for decimals
        return {"." if signs[0] == "," else ","}
    return {signs[-1]}


def _of_name(text: str) -> dt.date | None:
    """Return a date whose month is a name in English; `ValueError` if it is none."""
    found = _NAMED.fullmatch(text)
    if found is None or found[2][:3].lower() not in _MONTHS:
        raise ValueError(text)
    return _date(int(found[3]), _MONTHS.index(found[2][:3].lower()) + 1, int(found[1]))


def _date(year: int, month: int, day: int) -> dt.date | None:
    """Return a date, or None where there is none; years of two digits are of this century."""
    with suppress(ValueError):
        return dt.date(year + 2000 if year < 100 else year, month, day)
    return None
