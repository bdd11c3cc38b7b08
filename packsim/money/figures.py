"""The user's own figures: cans, prices, minutes. None of them is assumed; what is missing is told.

Money is in one currency, whose name is the user's own text.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError, count
from packsim.line.input_range import InputRange

LEFT_OUT: Final[Mapping[str, str]] = {
    "can_value": "the value of the cans lost",
    "cleaning": "cleaning up after a can that is down",
    "metal": "the metal of the cans lost",
    "jam_minutes": "the time the line stands for cans that are down",
    "size_changes_a_year": "the time size changes take",
    "minutes_a_bracket": "the time size changes take",
    "line_hour": "what the line would earn while it stands",
    "crew_hour": "what the crew costs while the line stands",
    "price_of_change": "the price of the change, so no payback time",
    "years": "how long the change is to serve, so no net present value",
    "discount_rate": "what money costs in a year, so no net present value",
}
"""What the sums leave out where a figure is missing, by its key."""


@dataclass(frozen=True, slots=True)
class SizeFigures:
    """What the user knows of one can size.

    Parameters
    ----------
    size : str
        Its name.
    cans_a_year : InputRange
        Cans that pass in a year.
    cans_counted, cans_down : int
        Cans passed in what was counted on the line as it is, and of these the cans that were down
        at the stages of the scenario, whatever made them fall; 0 of 0 where nobody counted.
    tipped_share : InputRange or None
        Which share of these had tipped [-]; None where nobody looked.
    """

    size: str
    cans_a_year: InputRange
    cans_counted: int = 0
    cans_down: int = 0
    tipped_share: InputRange | None = None

    def __post_init__(self) -> None:
        if count("cans_down", self.cans_down) > count("cans_counted", self.cans_counted):
            allowed = f"no more than the {self.cans_counted} of cans_counted"
            raise InputError("cans_down", self.cans_down, allowed)


@dataclass(frozen=True, slots=True)
class Figures:
    """All figures of one case.

    Parameters
    ----------
    currency : str
        What the amounts are in, in the user's words.
    sizes : tuple of SizeFigures
        One for each size that is to be counted.
    given : mapping of InputRange
        Every other figure that was given, by its key, one of `LEFT_OUT` or
        ``minutes_a_bracket_after``.
    """

    currency: str
    sizes: tuple[SizeFigures, ...]
    given: Mapping[str, InputRange]

    @property
    def missing(self) -> tuple[str, ...]:
        """Keys of the figures nobody gave."""
        return tuple(key for key in LEFT_OUT if key not in self.given)


def drawn(one: InputRange, rng: np.random.Generator, draws: int) -> Floats:
    """Return a figure as it is taken, then equally likely values of it, shape (1 + draws,).

    None is below 0.
    """
    found = np.maximum(one.at_shares(rng.random(draws)), 0.0)
    return np.concatenate(([one.value], found))
