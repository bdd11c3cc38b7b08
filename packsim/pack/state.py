"""The pack between its guides as data: where every can centre is, and what width it needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.constants import CONTACT_TOL_REL, MAX_CANS
from packsim.errors import InputError


@dataclass(frozen=True, slots=True, eq=False)
class Pack:
    """A pack of equal cans in a straight strip, periodic along travel.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres: along travel 0 <= x < length_mm, across y from the left guide face [mm].
        Read-only.
    diameter_mm : float
        Can diameter [mm].
    clear_width_mm : float
        Guide face to guide face [mm].
    length_mm : float
        Length of one period along travel [mm].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.
    state : {"slack", "strained", "blocks", "does not fit"}
        How the pack fills the width.
    lanes : int
        Number of distinct can centre lines along travel; 0 when nothing fits. In ``blocks`` the
        lines of both kinds of block count.
    pack_width_mm : float
        Width the touching pack needs [mm].
    fill : float
        Share of the state's cans per metre that is there, above 0 up to 1 [-].
    reason : str
        Why nothing fits, or empty.
    """

    centres_mm: Floats
    diameter_mm: float
    clear_width_mm: float
    length_mm: float
    layout: str
    state: str
    lanes: int
    pack_width_mm: float
    fill: float = 1.0
    reason: str = ""

    def __len__(self) -> int:
        return int(self.centres_mm.shape[0])

    @property
    def fits(self) -> bool:
        """Whether at least one lane of cans fits."""
        return self.lanes > 0

    @property
    def slack_mm(self) -> float:
        """Clear width less pack width [mm]; below 0 where the lanes are squeezed.

        Where rows lie spread from guide to guide the slack is between their cans.
        """
        return self.clear_width_mm - self.pack_width_mm

    @property
    def cans_per_metre(self) -> float:
        """Cans per metre of mat [1/m]."""
        return 1000.0 * len(self) / self.length_mm

    @property
    def density(self) -> float:
        """Share of the strip between the guides that cans cover [-]."""
        can = np.pi * self.diameter_mm**2 / 4.0
        return float(len(self) * can / (self.clear_width_mm * self.length_mm))

    @property
    def cans_per_square_metre(self) -> float:
        """Cans per square metre between the guides [1/m²]."""
        return 1e6 * len(self) / (self.clear_width_mm * self.length_mm)


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

    centres_mm: Floats
    period_mm: float
    state: str
    lanes: int
    pack_width_mm: float
    slack_mm: float


def check_count(cans: float) -> None:
    """Raise `InputError` when a pack would hold more than ``MAX_CANS`` cans."""
    if cans > MAX_CANS:
        raise InputError("cans", f"{cans:.0f}", f"a pack of at most {MAX_CANS} cans")


def lines_within(
    clear_width_mm: float, diameter_mm: float, pitch_mm: float, lines: int | None = None
) -> tuple[int, float]:
    """Return how many centre lines a pitch apart fit between the guides, and the slack left.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].
    pitch_mm : float
        Distance from one line to the next [mm].
    lines : int, optional
        Fewer lines than fit, which leave more slack.

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
    if lines is not None:
        steps = min(steps, lines - 1)
    slack = room - steps * pitch_mm
    return steps + 1, slack if slack > touch else 0.0


def stack(x: ArrayLike, y: ArrayLike) -> Floats:
    """Return centres, shape (k, 2), from x and y that broadcast together [mm]."""
    along, across = np.broadcast_arrays(np.asarray(x, np.float64), np.asarray(y, np.float64))
    return np.column_stack((along.ravel(), across.ravel()))
