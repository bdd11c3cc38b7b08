"""How numbers, names, lanes and stages are shown to a person.

Thousands have commas, percent a space, a minus its own sign, a range an en dash. Digits end where
they stop meaning anything.
"""

import math
from collections.abc import Callable, Iterable, Sequence

from packsim.answers import Answer


def signed(value: float, digits: int = 1, *, plus: bool = False) -> str:
    """Format a number with a true minus sign and never a negative nought.

    Examples
    --------
    >>> signed(-3.54), signed(3.5, plus=True), signed(-0.01, plus=True)
    ('−3.5', '+3.5', '0.0')
    """
    text = f"{value:{'+' if plus else ''},.{digits}f}"
    text = text.lstrip("-+") if float(text.replace(",", "")) == 0.0 else text
    return text.replace("-", "−")


def thousands(count: float) -> str:
    """Format a count: ``1,977``."""
    return signed(count, 0)


def percent(share: float, digits: int = 1) -> str:
    """Format a share of 1: ``11.2 %``; a dash where there is none."""
    return f"{signed(100.0 * share, digits)} %" if math.isfinite(share) else "–"


def span(low: str, high: str) -> str:
    """Join two ends that are already text: ``1387.0–1394.6``; one where both read alike."""
    return low if low == high else f"{low}–{high}"


def per_million(rate: float) -> str:
    """Format a rate per million, or an expected count, with the digits that mean something.

    Examples
    --------
    >>> [per_million(x) for x in (0.0, 0.0001, 0.00123, 0.213, 6.64, 1234.5, math.nan)]
    ['0', '<0.001', '0.0012', '0.21', '6.6', '1,230', 'does not fit']
    """
    if math.isnan(rate):
        return "does not fit"
    if rate == 0.0:
        return "0"
    if rate < 0.001:  # less than one in 10^9
        return "<0.001"
    if not math.isfinite(rate):
        return "no limit"
    if rate < 10.0:
        return f"{rate:.{1 if rate >= 1.0 else 1 - math.floor(math.log10(rate))}f}"
    digits = max(0, math.floor(math.log10(rate)) - 2)
    return thousands(round(rate, -digits))


def money(amount: float) -> str:
    """Format an amount in the user's own currency.

    Examples
    --------
    >>> money(12345.6), money(3.456), money(0.0)
    ('12,300', '3.46', '0')
    """
    if amount == 0.0 or not math.isfinite(amount):
        return "0" if amount == 0.0 else "never"
    rounded = float(f"{amount:.3g}")
    return signed(rounded, 0 if abs(rounded) >= 100.0 else 2)


def with_interval(
    best: float, low: float | None, high: float | None, show: Callable[[float], str] = per_million
) -> str:
    """Format a value and its interval, negative ones with their sign: ``6.6 (4.8–8.9)``."""

    def text(value: float) -> str:
        return f"−{show(-value)}" if value < 0.0 else show(value)

    if low is None or high is None:
        return text(best)
    joint = " to " if min(low, high) < 0.0 else "–"
    return f"{text(best)} ({text(low)}{joint}{text(high)})"


def printable(text: str) -> str:
    r"""Return a text with control characters turned into spaces: nothing may act on them.

    Examples
    --------
    >>> printable("wash\n1")
    'wash 1'
    """
    return "".join(letter if letter.isprintable() else " " for letter in text)


def pack_words(answer: Answer, length: Callable[[float], str]) -> str:
    """Return the lanes that are judged, and those that may stand there squeezed instead."""
    if not answer.pack.fits:
        return "does not fit"
    other, lanes = answer.might_be, f"{answer.pack.lanes} lanes"
    if other is None:
        return lanes
    by = f" by {length(other.squeezed_mm)}" if other.squeezed_mm else ""
    return f"{lanes}, or {other.lanes} {other.state}{by}"


def lane_words(lanes: Iterable[int]) -> str:
    """Return lanes, counted from 0, as a person counts them; a dash for none.

    Examples
    --------
    >>> lane_words([0, 1, 2, 23])
    '1–3, 24'
    """
    runs: list[list[int]] = []
    for lane in sorted(lanes):
        if runs and runs[-1][1] == lane:
            runs[-1][1] = lane + 1
        else:
            runs.append([lane + 1, lane + 1])
    words = [f"{a}" if a == b else f"{a}, {b}" if b == a + 1 else f"{a}–{b}" for a, b in runs]
    return ", ".join(words) or "–"


def stage_words(stages: Sequence[str], of: Sequence[object]) -> str:
    """Return stages in words, all of them as one phrase."""
    return "every stage" if len(stages) == len(of) > 1 else ", ".join(stages)
