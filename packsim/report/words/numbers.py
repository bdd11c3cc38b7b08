"""How numbers, names, lanes, stages and assumptions are shown to a person; the cautions.

Thousands have commas, percent a space, a minus its own sign, a range an en dash. Digits end where
they stop meaning anything.
"""

import math
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from packsim.answers import Answer
from packsim.errors import Assumption, readable
from packsim.line import Scenario
from packsim.scenario.values.ranges import in_us


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


def figures(value: float) -> str:
    """Format a value to about three figures."""
    if not math.isfinite(value):
        return "–"
    digits = 0 if abs(value) >= 100.0 else 1 if abs(value) >= 10.0 else 2 if abs(value) >= 1 else 3
    return signed(value, digits)


def thousands(count: float) -> str:
    """Format a count: ``1,977``."""
    return signed(count, 0)


def percent(share: float, digits: int = 1) -> str:
    """Format a share of 1: ``11.2 %``; a dash where there is none."""
    return f"{signed(100.0 * share, digits)} %" if math.isfinite(share) else "–"


def span(low: str, high: str) -> str:
    """Join two ends that are already text: ``1387.0–1394.6``; one where both read alike.

    Examples
    --------
    >>> span("50 %", "69 %"), span("50 %", "50 %")
    ('50–69 %', '50 %')
    """
    return low if low == high else f"{low.removesuffix(' %') if high[-2:] == ' %' else low}–{high}"


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


def times(ratio: float) -> str:
    """Format how many times as many, to about three figures; of next to none nobody knows it.

    Examples
    --------
    >>> [times(x) for x in (0.0, 0.0004, 0.0123, 1.5, 3668.0, math.inf)]
    ['0', '<0.001', '0.0123', '1.50', '3,670', 'over a million']
    """
    if ratio > 1e6:
        return "over a million"
    if 0.0 < ratio < 0.001:
        return "<0.001"
    return f"{ratio:.3g}" if ratio < 1.0 else figures(float(f"{ratio:.3g}"))


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
    """Format a value and its interval, negative ones with their sign: ``6.6 (4.8–8.9)``.

    Examples
    --------
    >>> with_interval(-6.6, -8.9, -0.0001)
    '−6.6 (−8.9 to >−0.001)'
    """

    def text(value: float) -> str:
        return f"−{show(-value)}".replace("−<", ">−") if value < 0.0 else show(value)

    if low is None or high is None:
        return text(best)
    joint = " to " if min(low, high) < 0.0 else "–"
    return f"{text(best)} ({text(low)}{joint}{text(high)})"


def pack_words(answer: Answer, length: Callable[[float], str]) -> str:
    """Return the lanes that are judged, and those that may stand there squeezed instead."""
    if not answer.pack.fits:
        return "does not fit"
    other, lanes = answer.might_be, f"{answer.pack.lanes} lanes"
    if other is None:
        return lanes
    by = f" by {length(other.squeezed_mm)}" if other.squeezed_mm else ""
    return f"{lanes}, or {other.lanes} {other.state}{by}"


ROWS: Final = {"lengthwise": "along", "crosswise": "across"}
"""How rows of touching cans run, as a scenario and the sheet of a visit have it."""


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


def stages_alike(
    rows: Iterable[tuple[str, tuple[str, ...]]],
) -> dict[tuple[str, ...], list[str]]:
    """Return the stages of rows that read alike, by their cells."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for stage, cells in rows:
        groups.setdefault(cells, []).append(stage)
    return groups


SIGNS = {"degC": "°C", "degF": "°F", "^2": "²", "^3": "³", " 1/s": " per s"}
"""What a file writes with the keys of any keyboard, and a person otherwise."""

_STAGE = re.compile(r"stages\[(\d+)\]\.(.+)")


def assumed_rows(
    assumed: Iterable[Assumption], stages: Sequence[str], units: str = "metric"
) -> tuple[tuple[str, str, str], ...]:
    """Return assumptions as rows of key, value and reason, the same key of several stages in one.

    Values of several stages follow in stage order, equal ones in a run named once.

    Examples
    --------
    >>> key = "stages[{}].kicks.sideways_step_rms"
    >>> made = Assumption.measured_nowhere
    >>> steps = [made(key.format(i), 0.2, "mm", "invented") for i in range(2)]
    >>> assumed_rows(steps, ["wash", "rinse"], "inch")
    (('kicks.sideways_step_rms', '0.007874 in', 'invented (every stage)'),)
    """
    groups: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for each in assumed:
        match, value = _STAGE.fullmatch(each.key), _value(each, units)
        if match is None or int(match[1]) >= len(stages):
            groups.setdefault((each.key, each.why), []).append(("", value))
        else:
            stage = stages[int(match[1])]
            groups.setdefault((match[2], each.why), []).append((stage, value))
    return tuple(_row(key, why, members, len(stages)) for (key, why), members in groups.items())


def _value(assumed: Assumption, units: str) -> str:
    """Word a value in a unit system, with the signs a person writes."""
    text = assumed.value
    if units == "inch" and assumed.number is not None:
        if assumed.unit == "1/K":
            text = f"{assumed.number / 1.8e-6:.4g} µin/(in °F)"
        else:
            text = readable(*in_us(assumed.number, assumed.unit), digits=4)
    return with_signs(text)


def with_signs(text: str) -> str:
    """Return a unit of files with the signs a person writes: ``°C`` for ``degC``."""
    for plain, sign in SIGNS.items():
        text = text.replace(plain, sign)
    return text


def _row(key: str, why: str, members: list[tuple[str, str]], of: int) -> tuple[str, str, str]:
    values = list(dict.fromkeys(value for _, value in members))
    places = [stage for stage, _ in members if stage]
    if not places:
        return key, values[0], why
    where = "every stage" if len(places) == of else ", ".join(places)
    if len(values) == 1:
        return key, values[0], f"{why} ({where})"
    shown = "; ".join(f"{stage} {value}" for stage, value in members)
    return key, shown, f"{why} ({where})"


def fitted_kicks(scenario: Scenario) -> tuple[tuple[tuple[str, ...], str], ...]:
    """Return pairs of duties and the trial that their kick energies were fitted to."""
    duties: dict[str, dict[str, None]] = {}
    for stage in scenario.stages:
        if stage.kicks.trial:
            duties.setdefault(stage.kicks.trial, {})[stage.duty] = None
    return tuple((tuple(names), trial) for trial, names in duties.items())


def kicks_text(scenario: Scenario) -> str:
    """Say in one line what the chances of tipping rest on."""
    found = fitted_kicks(scenario)
    if not found:
        return "assumed kicks: no trial has fitted them"
    words = [f"kicks of {', '.join(duties)} fitted to {trial}" for duties, trial in found]
    left = dict.fromkeys(s.duty for s in scenario.stages if not s.kicks.trial)
    if left:
        words.append(f"kicks of {', '.join(left)} assumed")
    return "; ".join(words)


CAUTIONS = (
    "Isolate and lock out the mat, pumps and blowers before reaching into the machine.",
    "Wash liquids are hot and corrosive: let them drain, wear eye, face and skin protection.",
    "Guide wires are under tension: slacken them with the take-up before touching a bracket.",
    "Oven parts stay hot long after the burners stop.",
    "These are screening numbers for planning. Local codes, the machine maker's instructions and "
    "licensed practice come first.",
)
"""What to say before anyone goes near the machine."""

CAUTION_LINE = (
    "Isolate and lock out before reaching in; hot, corrosive liquids; tensioned wires. "
    "Local codes, the machine maker and licensed practice come first."
)
"""The same in one line, for screens with little room."""
