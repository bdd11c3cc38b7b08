"""One repeat of a pack along travel: what the lattices hand over and `strip` lays end to end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.constants import CONTACT_TOL_REL, MAX_CANS
from packsim.errors import InputError


@dataclass(frozen=True, slots=True, eq=False)
class Cell:
    """One lattice period of a pack of touching cans.

    Parameters
    ----------
    centres_mm : ndarray, shape (k, 2)
        Centres; x from 0 to about a period, y from the left guide face [mm].
    period_mm : float
        Distance along travel after which the pattern repeats [mm].
    state : {"slack", "strained", "blocks"}
        Which of the states this is.
    lanes : int
        Distinct can centre lines along travel.
    pack_width_mm, slack_mm : float
        As in `packsim.pack.state.Pack` [mm].
    """

    centres_mm: NDArray[np.float64]
    period_mm: float
    state: str
    lanes: int
    pack_width_mm: float
    slack_mm: float


def check_count(cans: float) -> None:
    """Raise `InputError` when a pack would hold more than ``MAX_CANS`` cans."""
    if cans > MAX_CANS:
        raise InputError("cans", f"{cans:.0f}", f"a pack of at most {MAX_CANS} cans")


def lines_within(clear_width_mm: float, diameter_mm: float, pitch_mm: float) -> tuple[int, float]:
    """Return how many centre lines a pitch apart fit between the guides, and the slack left.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].
    pitch_mm : float
        Distance from one line to the next [mm].

    Returns
    -------
    lines : int
        At least 1. A width short of one more line by no more than a contact tolerance gives it.
    slack_mm : float
        Width left over; rounding leaves it at 0 for an exact fit, never below [mm].
    """
    room, touch = clear_width_mm - diameter_mm, CONTACT_TOL_REL * diameter_mm
    check_count(room / pitch_mm)
    steps = int((room + touch) // pitch_mm)
    slack = room - steps * pitch_mm
    return steps + 1, slack if slack > touch else 0.0


def stack(x: ArrayLike, y: ArrayLike) -> NDArray[np.float64]:
    """Return centres, shape (k, 2), from x and y that broadcast together [mm]."""
    along, across = np.broadcast_arrays(np.asarray(x, np.float64), np.asarray(y, np.float64))
    return np.column_stack((along.ravel(), across.ravel()))
