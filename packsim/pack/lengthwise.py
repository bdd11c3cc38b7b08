"""Packs whose close-packed lines run along the guides, and what packs of both layouts share.

``n`` lanes need W_n = D (1 + (n − 1) √3/2). A clear width W in between has slack S = W − W_n and
three ways of holding cans: lanes as they are, one lane more with every line stretched, or blocks.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.constants import CONTACT_TOL_REL, MAX_CANS, SIN60
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


def slack(
    clear_width_mm: float, diameter_mm: float, share_left: float = 0.5, lanes: int | None = None
) -> Cell:
    """Return the perfect pack of as many lanes as fit.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].
    share_left : float
        Share of the slack that lies at the left guide, 0..1 [-].
    lanes : int, optional
        Fewer lanes than fit.

    Returns
    -------
    Cell
        One can per lane in a period of D, every second lane half a diameter ahead.
    """
    pitch = SIN60 * diameter_mm
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, pitch, lanes)
    lane = np.arange(lanes)
    y = share_left * left_over + diameter_mm / 2.0 + lane * pitch
    centres = stack(lane % 2 * (diameter_mm / 2.0), y)
    width = diameter_mm + (lanes - 1) * pitch
    return Cell(
        centres_mm=centres,
        period_mm=diameter_mm,
        state="slack",
        lanes=lanes,
        pack_width_mm=width,
        slack_mm=left_over,
    )


def strained(clear_width_mm: float, diameter_mm: float) -> Cell | None:
    """Return one lane more than fits, every line stretched; None where it cannot stand.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].

    Returns
    -------
    Cell or None
        n + 1 lines (n of them fit unstretched) a pitch h = (W − D)/n apart. Each can touches its
        neighbours in the next lines, so cans of one line are 2 √(D² − h²) apart.

    Notes
    -----
    Cans of one line stay apart because h < D √3/2. Cans two lines on stand level with each other,
    2 h away, so h >= D/2 where there are three lines or more; only two lanes (1.87 to 2 D wide)
    fail it. An exact fit has nothing to stretch for and gives None.
    """
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, SIN60 * diameter_mm)
    h = (clear_width_mm - diameter_mm) / lanes
    if left_over == 0.0 or (lanes > 1 and h < diameter_mm / 2.0):
        return None
    half = math.sqrt(diameter_mm**2 - h**2)
    line = np.arange(lanes + 1)
    centres = stack(line % 2 * half, diameter_mm / 2.0 + line * h)
    width = diameter_mm * (1.0 + lanes * SIN60)
    return Cell(
        centres_mm=centres,
        period_mm=2.0 * half,
        state="strained",
        lanes=lanes + 1,
        pack_width_mm=width,
        slack_mm=0.0,
    )


def blocks(clear_width_mm: float, diameter_mm: float) -> Cell | None:
    """Return triangular hexagonal blocks with their bases on one guide and the other by turns.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].

    Returns
    -------
    Cell or None
        (n + 1)(n + 2) cans in a period of n + 2 √(1 − h²) diameters, with n + 1 the lanes that
        fit and h D the slack. None for a single lane or an exact fit, which have no blocks.

    Notes
    -----
    Rows of n + 1, n, …, 1 cans make one triangle. The next one is upside down; its first base can
    stands a = n/2 + √(1 − h²) ahead. Rows j and n − j of the two triangles are h apart across and
    √(1 − h²) along, so they touch: the crack is a row of rhombs one diameter a side.
    [furedi1991]_ proves it densest for two lanes; [molnar1978]_ conjectures it for more.
    """
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, SIN60 * diameter_mm)
    if lanes < 2 or left_over == 0.0:
        return None
    check_count(lanes * (lanes + 1.0))
    step = math.sqrt(1.0 - (left_over / diameter_mm) ** 2)
    row, place = np.nonzero(np.tri(lanes, dtype=bool)[::-1])
    x, y = row / 2.0 + place, row * SIN60
    ahead = (lanes - 1) / 2.0 + step
    foot, top = 0.5, clear_width_mm / diameter_mm - 0.5
    upright, inverted = stack(x, foot + y), stack(x + ahead, top - y)
    centres = diameter_mm * np.concatenate((upright, inverted))
    period = diameter_mm * (lanes - 1 + 2.0 * step)
    width = diameter_mm * (1.0 + (lanes - 1) * SIN60)
    return Cell(
        centres_mm=centres,
        period_mm=period,
        state="blocks",
        lanes=2 * lanes,
        pack_width_mm=width,
        slack_mm=left_over,
    )


def why_not(state: str, clear_width_mm: float, diameter_mm: float) -> str:
    """Say in plain words why a state that was asked for is not to be had at this width."""
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, SIN60 * diameter_mm)
    if left_over == 0.0:
        return f"{lanes} lanes fit exactly: there is no slack for a {state} pack to take up"
    if state == "strained":
        return f"{lanes + 1} lines would be too close: every second line would overlap"
    return "a single lane makes no blocks"
