"""What answers rest on without a measurement, in as few rows as say it all."""

import re
from collections.abc import Iterable, Sequence

from packsim.assumption import Assumption, readable
from packsim.scenario.units import in_us

_SIGNS = {"degC": "°C", "degF": "°F", "^2": "²", "^3": "³", " 1/s": " per s"}
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
    for plain, sign in _SIGNS.items():
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
