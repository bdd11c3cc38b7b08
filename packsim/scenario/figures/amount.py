"""How a figure is written: a number, one with a ±, or from one to another."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from packsim.line.input_range import InputRange
from packsim.scenario.values.quantities import PLUS_MINUS, Kind, Refused, read_quantity
from packsim.scenario.values.readers import Reader, refusal

_SHARE: Final = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*(?:%|percent)\s*")
_TIMES: Final = {"thousand": 1e3, "million": 1e6, "billion": 1e9}
_NUMBER: Final = re.compile(r"\s*-?\d[\d _]*(?:\.\d*)?\s*")
"""Without commas: "1,250" is a thousand here and one and a quarter there."""

_FIGURES: Final = re.compile(r"^[-\d\s._]*")


@dataclass(frozen=True)
class Amount(Reader):
    """Annotation of a field that holds a figure, as an `InputRange` without a key.

    A ± in % is a share of the value, but of a value that is itself in %. A range is even from low
    to high; its middle is what it is taken as.
    """

    kind: Kind

    def read(self, raw: object) -> InputRange:
        """Return the figure and what it may be, or complain."""
        try:
            value, low, high, shape = self._ends(raw)
        except (Refused, ValueError):
            raise refusal(self.allowed) from None
        return InputRange(
            key="",
            value=value,
            low=low,
            high=high,
            kind="given",
            source="your figure",
            shape=shape,
        )

    @property
    def allowed(self) -> str:
        """What is accepted, in one phrase."""
        return (
            f"{self.kind.range}, such as {self.kind.example}; with a ± or a range where it is open"
        )

    def _ends(self, raw: object) -> tuple[float, float, float, str]:
        """Return what it is taken as, what it may be at least and at most, and how that lies."""
        if isinstance(raw, str) and PLUS_MINUS.search(raw):
            text, off = PLUS_MINUS.split(raw, 1)
            if not _FIGURES.sub("", text) and _SHARE.fullmatch(off) is None:
                text = f"{text} {_FIGURES.sub('', off)}".strip()  # one unit behind both
            value, share = self._one(text), None if "%" in text else _SHARE.fullmatch(off)
            half = self._one(off) if share is None else value * float(share[1]) / 100.0
            if half <= 0.0 or value - half < self.kind.low or value + half > self.kind.high:
                raise Refused(self.kind)
            return value, value - half, value + half, "normal"
        ends = raw if isinstance(raw, list) and len(raw) == 2 else [raw, raw]
        if isinstance(raw, str) and raw.count(" to ") == 1:
            first, last = raw.split(" to ")
            unit = "" if _FIGURES.sub("", first) else _FIGURES.sub("", last)
            ends = [f"{first} {unit}".strip(), last]
        low, high = map(self._one, ends)
        if low > high:
            raise Refused(self.kind)
        return (low + high) / 2.0, low, high, "even"

    def _one(self, raw: object) -> float:
        """Return one number: a large one may have spaces in it, or be in thousands or millions."""
        if not isinstance(raw, str) or self.kind.unit or "%" in raw:
            return read_quantity(raw, self.kind)
        number, _, word = raw.strip().rpartition(" ")
        text, times = (number, _TIMES[word]) if word in _TIMES else (raw, 1.0)
        if not _NUMBER.fullmatch(text):
            raise Refused(self.kind)
        return read_quantity(times * float(re.sub(r"[ _]", "", text)), self.kind)
