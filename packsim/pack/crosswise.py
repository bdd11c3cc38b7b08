"""Slack that a short row of a crosswise pack can gather once the rows part along travel.

Rows that touch hold their cans in the notches of the next rows; once they part, a short row slides
from pocket to pocket, however close the guides stand.
"""

import math
from dataclasses import dataclass

from packsim.errors import non_negative
from packsim.pack.state import Pack


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
