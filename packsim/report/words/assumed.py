"""What answers rest on without a measurement, in as few rows as say it all."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from packsim.assumption import Assumption

__all__ = ["assumed_rows"]

_STAGE = re.compile(r"stages\[(\d+)\]\.(.+)")


def assumed_rows(
    assumed: Iterable[Assumption], stages: Sequence[str]
) -> tuple[tuple[str, str, str], ...]:
    """Return assumptions as rows, the same key of several stages in one.

    Parameters
    ----------
    assumed : iterable of Assumption
        Each once.
    stages : sequence of str
        Stage names in order.

    Returns
    -------
    tuple of (key, value, why)
        Values of several stages follow in stage order, equal ones in a run named once.

    Examples
    --------
    >>> kicks = [Assumption(f"stages[{i}].kicks.rate", "2 1/s", "invented") for i in range(2)]
    >>> assumed_rows(kicks, ["wash", "rinse"])
    (('kicks.rate', '2 1/s', 'invented (every stage)'),)
    """
    groups: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for each in assumed:
        match = _STAGE.fullmatch(each.key)
        if match is None or int(match[1]) >= len(stages):
            groups.setdefault((each.key, each.why), []).append(("", each.value))
        else:
            stage = stages[int(match[1])]
            groups.setdefault((match[2], each.why), []).append((stage, each.value))
    return tuple(_row(key, why, members, len(stages)) for (key, why), members in groups.items())


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
