"""How well a value is usually known, from the one table of it, ``documented.toml``."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from packsim.scenario.fields import Of, Range
from packsim.scenario.known.measured import half_width, limits

_OF_IT: Final = re.compile(r"(\S+) % of it")
_TIMES: Final = re.compile(r"(\S+) to (\S+) times it")


@dataclass(frozen=True, slots=True)
class Documented:
    """What the table says of one key.

    Parameters
    ----------
    given, why : str
        Spread of a value written plainly, and the reason for it.
    assumed, if_not : str
        Spread of one that nobody gave, and the reason; empty where that cannot be.
    """

    given: str
    why: str
    assumed: str = ""
    if_not: str = ""

    def spread(self, given: bool) -> tuple[str, str]:
        """Return the spread of a value that is given or not, and the reason for it."""
        return (self.given, self.why) if given or not self.assumed else (self.assumed, self.if_not)


@cache
def documented() -> dict[str, Documented]:
    """Return what the table says, by table and key: ``mat.width``."""
    text = Path(__file__).with_name("documented.toml").read_text(encoding="utf-8")
    return {
        f"{table}.{key}": Documented(**said)
        for table, rows in tomllib.loads(text).items()
        for key, said in rows.items()
    }


def bounds(spread: str, value: float, kind: Of) -> tuple[float, float]:
    """Return low and high of a value, in the units inside.

    Parameters
    ----------
    spread : str
        As the table has it; not that of a word.
    value : float
        The value, in the units inside; it is within.
    kind : Of
        What it is; low and high are kept within what such a quantity may be.

    Returns
    -------
    tuple of float
        Low and high.

    Examples
    --------
    >>> tape = Of("a length", "mm", 0.0, 1e6, '"66.1 mm"', above=True)
    >>> bounds("2 mm", 66.0, tape), bounds("5 % of it", 100.0, tape)
    ((64.0, 68.0), (95.0, 105.0))
    >>> bounds("0.25 to 1 times it", 2.0, tape), bounds("1 to 3 mm", 5.0, tape)
    ((0.5, 2.0), (1.0, 5.0))
    """
    if spread == "exact":
        return value, value
    if found := _OF_IT.fullmatch(spread):
        half = abs(value) * float(found[1]) / 100.0
        low, high = value - half, value + half
    elif found := _TIMES.fullmatch(spread):
        low, high = sorted((value * float(found[1]), value * float(found[2])))
    elif " to " in spread:
        low, high = Range(kind).read(spread)
    else:
        half = half_width(spread, kind)
        low, high = value - half, value + half
    least, most = limits(kind)
    return min(value, max(low, least)), max(value, min(high, most))
