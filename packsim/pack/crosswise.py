"""Packs whose close-packed rows run straight across, from guide to guide.

Rows of m and m − 1 cans by turns need m D and have 2m − 1 centre lines; rows of m and m need
(m + ½) D and have 2m. Either way L lines need D + (L − 1) D/2. Every row, or every second one, is
short by half a can at a guide or at both: an edge pocket. Rows that touch hold their cans in the
notches of the next rows; once rows part along travel, a short row slides from pocket to pocket,
however close the guides stand.
"""

import math
from dataclasses import dataclass

import numpy as np

from packsim.constants import CONTACT_TOL_REL, SIN60
from packsim.errors import non_negative
from packsim.pack.lengthwise import Cell, check_count, lines_within, stack
from packsim.pack.state import Pack


def slack(
    clear_width_mm: float, diameter_mm: float, share_left: float = 0.5, lanes: int | None = None
) -> Cell:
    """Return the perfect pack of as many rows' cans as fit across.

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
        Two rows D √3/2 apart, the second half a diameter aside. Where only one can fits across,
        a single lane of touching cans: a row of none between them would only waste length.
    """
    radius = diameter_mm / 2.0
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, radius, lanes)
    line = np.arange(lanes)
    y = share_left * left_over + radius + line * radius
    pitch = SIN60 * diameter_mm
    period = 2.0 * pitch if lanes > 1 else diameter_mm
    width = diameter_mm + (lanes - 1) * radius
    return Cell(
        centres_mm=stack(line % 2 * pitch, y),
        period_mm=period,
        state="slack",
        lanes=lanes,
        pack_width_mm=width,
        slack_mm=left_over,
    )


def strained(clear_width_mm: float, diameter_mm: float) -> Cell | None:
    """Return the same cans with the slack shared out, so that the edge cans touch both guides.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].

    Returns
    -------
    Cell or None
        Lines s/2 = (W − D)/(L − 1) apart; a can touches its neighbours in the next rows, which
        are √(D² − s²/4) away along travel. That is less than D √3/2: shorter than the slack pack.

    Notes
    -----
    Every second row stands level, 2 √(D² − s²/4) away, which is D or more while s <= √3 D. Since
    S < D/2, s < D (1 + 1/(L − 1)), so only two lines can break it, wider than 1 + √3/2 diameters;
    there the result is None, as for a single lane or an exact fit.
    """
    radius = diameter_mm / 2.0
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, radius)
    if lanes == 1 or left_over == 0.0:
        return None
    step = (clear_width_mm - diameter_mm) / (lanes - 1)
    if step > SIN60 * diameter_mm * (1.0 + CONTACT_TOL_REL):
        return None
    pitch = math.sqrt(diameter_mm**2 - step**2)
    line = np.arange(lanes)
    centres = stack(line % 2 * pitch, radius + line * step)
    width = diameter_mm + (lanes - 1) * radius
    return Cell(
        centres_mm=centres,
        period_mm=2.0 * pitch,
        state="strained",
        lanes=lanes,
        pack_width_mm=width,
        slack_mm=0.0,
    )


def blocks(clear_width_mm: float, diameter_mm: float) -> Cell | None:
    """Return groups of rows against the left and the right guide by turns.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].

    Returns
    -------
    Cell or None
        Two groups of as many rows as fit cans across. None for fewer than three lines or an exact
        fit. It holds fewer cans per metre than the slack pack: each crack costs length.

    Notes
    -----
    Derived here. Rows alternate by D/2 throughout, so the row after a crack lies D/2 + S or
    D/2 − S aside of the row before it. Lines of cans repeat every D across, hence the nearest two
    cans are d = D/2 − S apart across in both cases, and touch at a row pitch of √(D² − d²), between
    D √3/2 and D. A second row on is at least D √3 away, so nothing else comes near. Two can lines
    alone would have only the D/2 + S side, hence three.
    """
    radius = diameter_mm / 2.0
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, radius)
    if lanes < 3 or left_over == 0.0:
        return None
    rows = (lanes + 1) // 2
    check_count(float(rows) * lanes)
    pitch, crack = SIN60 * diameter_mm, math.sqrt(diameter_mm**2 - (radius - left_over) ** 2)
    group = (rows - 1) * pitch + crack
    row, line = np.divmod(np.arange(2 * rows * lanes), lanes)
    stands = (row + line) % 2 == 0
    row, line = row[stands], line[stands]
    second, place = np.divmod(row, rows)
    centres = stack(second * group + place * pitch, radius * (1 + line) + second * left_over)
    width = diameter_mm + (lanes - 1) * radius
    return Cell(
        centres_mm=centres,
        period_mm=2.0 * group,
        state="blocks",
        lanes=2 * lanes,
        pack_width_mm=width,
        slack_mm=left_over,
    )


def why_not(state: str, clear_width_mm: float, diameter_mm: float) -> str:
    """Say in plain words why a state that was asked for is not to be had at this width."""
    lanes, left_over = lines_within(clear_width_mm, diameter_mm, diameter_mm / 2.0)
    if left_over == 0.0:
        return f"the rows fit exactly: there is no slack for a {state} pack to take up"
    if lanes == 1:
        return f"a single lane has no rows to make a {state} pack of"
    if state == "strained":
        return "the two lines would be too far apart: every second row would overlap"
    return "rows of one can make no blocks"


@dataclass(frozen=True, slots=True)
class RowParting:
    """Slack a row of a crosswise pack has to itself once the rows beside it have moved away.

    Parameters
    ----------
    pocket_mm : float
        How far the end of a short row stands back from that of the row beside it [mm].
    pockets : int
        Pockets of a row: one at each guide, or a single one where all rows are equal.
    row_slack_mm : float
        Slack of a short row that nothing holds along travel [mm].
    parting_mm : float
        Opening along travel, both sides of the row together, that lets the row gather the slack
        asked about [mm]; infinite where it never can.
    rows : float
        Rows whose lengthwise slack, at this fill, adds up to that opening; infinite in a full pack.
    """

    pocket_mm: float
    pockets: int
    row_slack_mm: float
    parting_mm: float
    rows: float

    @property
    def can_gather(self) -> bool:
        """Whether the slack asked about can gather at all."""
        return math.isfinite(self.parting_mm)


def row_parting(pack: Pack, slack_mm: float) -> RowParting | None:
    """Say what it takes for a short row to gather a slack, such as the safe slack.

    Parameters
    ----------
    pack : Pack
        The pack as laid.
    slack_mm : float
        Slack asked about [mm].

    Returns
    -------
    RowParting or None
        None for a pack that has no rows straight across, does not fit, or is one can wide.

    Notes
    -----
    Derived here. A short row's can stands in the notch between two touching cans of the next.
    With the rows a pitch p from each other it moves aside by D/2 − √(D² − p²) either way until it
    meets one of them, and that row moves by its own slack, S = W less a row and its offset. With a
    pocket at k guides (2, or 1 where all rows are equal and touch one guide each) it has
    S + k (D/2 − √(D² − p²)) across, only S while p = D √3/2. At p = D nobody is in its way, and it
    has what the guides leave. A slack g needs

        p = √(D² − (D/2 − (g − S)/k)²)    up to the short row's own slack,

    and the opening is 2 (p − p₀), p₀ the pitch at which the rows of the state touch (shorter in a
    strained pack, whose rows spread out). At a fill f a row holds p₀ (1/f − 1) of lengthwise slack;
    the rows counted are those that would have to bunch.
    """
    g, d, width = non_negative("slack_mm", slack_mm), pack.diameter_mm, pack.clear_width_mm
    if not pack.fits or pack.layout != "crosswise" or pack.lanes < 2 or pack.state == "blocks":
        return None
    full, short = (pack.lanes + 1) // 2, pack.lanes // 2  # cans of a row; equal for even lines
    odd = full != short
    own = width - (full if odd else full + 0.5) * d
    step = (width - d) / (pack.lanes - 1) if pack.state == "strained" else d / 2.0
    touching = math.sqrt(d**2 - step**2)
    pockets = 2 if odd else 1
    row_slack = width - short * d
    if g > row_slack:
        return RowParting(step, pockets, row_slack, math.inf, math.inf)
    apart = min(max(0.0, d / 2.0 - (g - own) / pockets), step)
    parting = max(0.0, 2.0 * (math.sqrt(d**2 - apart**2) - touching))
    lengthwise = touching * (1.0 / pack.fill - 1.0)
    rows = parting / lengthwise if lengthwise > 0.0 else (0.0 if parting == 0.0 else math.inf)
    return RowParting(step, pockets, row_slack, parting, rows)
