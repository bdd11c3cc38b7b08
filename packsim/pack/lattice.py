"""One period of touching cans between two guides, for both layouts and every state.

Lengthwise, close-packed lines run along the guides: n lanes need D (1 + (n − 1) √3/2). Crosswise,
close-packed rows run straight across: rows of m and m − 1 cans by turns need m D and have 2m − 1
centre lines, rows of m and m need (m + ½) D and have 2m; either way L lines need D + (L − 1) D/2.
Every row, or every second one, is then short by half a can at a guide or at both: an edge pocket.
A clear width W in between has slack S and three ways of holding cans: as they are, strained (the
lines spread from guide to guide), or blocks.
"""

import math
from typing import Any, Final, NamedTuple, TypeVar, overload

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats, Ints
from packsim.constants import CONTACT_TOL_REL, MAX_CANS, SIN60
from packsim.errors import InputError, non_negative, one_of, positive

Number = TypeVar("Number", float, Floats)

LAYOUTS: Final = ("lengthwise", "crosswise")
"""How the close-packed lines run."""


def lane_pitch_mm(diameter_mm: Number, layout: str) -> Number:
    """Width one lane more takes, and what lies between two lanes of a touching pack [mm].

    D √3/2 lengthwise and D/2 crosswise (plain geometry of close-packed circles of diameter D).
    """
    return diameter_mm * (SIN60 if one_of("layout", layout, LAYOUTS) == "lengthwise" else 0.5)


@overload
def lanes_width_mm(lanes: int, diameter_mm: float, layout: str) -> float: ...
@overload
def lanes_width_mm(lanes: Ints, diameter_mm: Floats, layout: str) -> Floats: ...
def lanes_width_mm(lanes: Any, diameter_mm: Any, layout: str) -> Any:
    """Width of a touching pack, D (1 + (n − 1) √3/2), or D (n + 1)/2 crosswise [mm]."""
    return diameter_mm + (lanes - 1) * lane_pitch_mm(diameter_mm, layout)


def lane_places_mm(lanes: int, diameter_mm: float, layout: str, centre_mm: float) -> Floats:
    """Lines of can centres of a touching pack about a middle, shape (lanes,) [mm]."""
    place = np.arange(lanes, dtype=np.float64) - (lanes - 1) / 2.0
    return np.asarray(centre_mm + lane_pitch_mm(diameter_mm, layout) * place, dtype=np.float64)


def can_tolerance_mm(
    diameter_tol_mm: float, diameter_mm: float, pack_width_mm: float, layout: str
) -> tuple[float, float]:
    """How much a touching pack's width changes with the diameters of the cans in it.

    Parameters
    ----------
    diameter_tol_mm : float
        Plus/minus tolerance t of one can's diameter [mm].
    diameter_mm, pack_width_mm, layout
        Nominal diameter and width [mm]; how the close-packed lines run.

    Returns
    -------
    worst_mm : float
        Every can of a row at its limit: t × pack width / diameter, which is t (1 + (n−1)√3/2)
        lengthwise and t m or t (m + ½) crosswise [mm].
    rss_mm : float
        Every can of a row independent of the next [mm].

    Notes
    -----
    Derived here. Across n lanes of touching cans the width is D₁/2 + Dₙ/2 plus √3/2 of the centre
    distances (Dᵢ + Dᵢ₊₁)/2, to first order in the differences. So an end can counts ½ + √3/4 and
    an inner one √3/2, and t times the root of the sum of squares is t √(¾(n−2) + 2(½ + √3/4)²);
    t for one lane. Crosswise a row of m cans counts 1 each, and a half-can offset ½ more:
    t √m or t √(m + ¼).

    Cans off one body maker share their error. The worst case is then the honest one.

    Examples
    --------
    >>> worst, rss = can_tolerance_mm(0.18, 66.0, 66.0 * (1 + 19 * 0.8660254), "lengthwise")
    >>> worst
    3.14
    >>> rss
    0.70
    """
    tol = non_negative("diameter_tol_mm", diameter_tol_mm)
    widths = positive("pack_width_mm", pack_width_mm) / positive("diameter_mm", diameter_mm)
    if one_of("layout", layout, LAYOUTS) == "crosswise":
        whole = math.floor(widths + 0.25)
        half = max(0.0, widths - whole)
        return tol * widths, tol * math.sqrt(whole + half**2)
    lanes = max(1, round(1.0 + (widths - 1.0) / SIN60))
    if lanes == 1:
        return tol * widths, tol
    ends = 2.0 * (0.5 + SIN60 / 2.0) ** 2
    return tol * widths, tol * math.sqrt(SIN60**2 * (lanes - 2) + ends)


class Cell(NamedTuple):
    """One lattice period of a pack of touching cans.

    Centres have x from 0 to about a period, y from the left guide face, shape (k, 2). ``lanes`` are
    distinct centre lines along travel; ``pack_width_mm`` is as in `packsim.pack.state.Pack`.
    """

    centres_mm: Floats
    period_mm: float
    state: str
    lanes: int
    pack_width_mm: float


class Lattice:
    """What one layout makes of the room between two guides.

    ``lanes`` centre lines fit, ``pitch_mm`` apart, and leave ``slack_mm`` over: 0 for an exact fit,
    never below. A width short of one more line by no more than a contact tolerance gives it. Every
    second line is ``ahead_mm`` further along travel. With ``lanes`` given, fewer than fit.
    Raises `InputError` for more than ``MAX_CANS`` lines.
    """

    def __init__(
        self, clear_width_mm: float, diameter_mm: float, layout: str, lanes: int | None = None
    ) -> None:
        self.clear_width_mm, self.diameter_mm = clear_width_mm, diameter_mm
        self.layout, self.crosswise = layout, layout == "crosswise"
        self.pitch_mm = lane_pitch_mm(diameter_mm, layout)
        self.ahead_mm = diameter_mm / 2.0 if layout == "lengthwise" else SIN60 * diameter_mm
        room, touch = clear_width_mm - diameter_mm, CONTACT_TOL_REL * diameter_mm
        check_count(room / self.pitch_mm)
        steps = int((room + touch) // self.pitch_mm)
        steps = steps if lanes is None else min(steps, lanes - 1)
        slack = room - steps * self.pitch_mm
        self.lanes, self.slack_mm = steps + 1, slack if slack > touch else 0.0

    def width_mm(self, lanes: int) -> float:
        """Width that so many touching lines need [mm]."""
        return lanes_width_mm(lanes, self.diameter_mm, self.layout)

    def slack(self, share_left: float = 0.5) -> Cell:
        """Return the perfect pack, with a share of the slack, 0..1, at the left guide.

        Where only one can fits across it is a single lane of touching cans in either layout: a row
        of none between them would only waste length.
        """
        line = np.arange(self.lanes)
        y = share_left * self.slack_mm + self.diameter_mm / 2.0 + line * self.pitch_mm
        period = 2.0 * self.ahead_mm if self.lanes > 1 else self.diameter_mm
        centres, width = _stack(line % 2 * self.ahead_mm, y), self.width_mm(self.lanes)
        return Cell(centres, period, "slack", self.lanes, width)

    def strained(self) -> Cell | None:
        """Return the pack whose lines spread from guide to guide; None where it cannot stand.

        Notes
        -----
        Lines stand h apart and each can touches its neighbours in the next lines, √(D² − h²) away
        along travel. Lengthwise there is one line more than fits, h < D √3/2. Cans two lines on
        stand level with each other, 2 h away, so h >= D/2 where there are three lines or more; only
        two lanes (1.87 to 2 D wide) fail it. Crosswise the lines are as many as fit and the pack is
        shorter than the slack one. Every second row stands level, 2 √(D² − h²) away, which is D or
        more while h <= D √3/2; since S < D/2 only two lines can break it, wider than 1 + √3/2
        diameters. An exact fit has nothing to stretch for, nor has a single line.
        """
        lines, d = self.lanes + (not self.crosswise), self.diameter_mm
        if self.slack_mm == 0.0 or lines == 1:
            return None
        h = (self.clear_width_mm - d) / (lines - 1)
        too_far = self.crosswise and h > SIN60 * d * (1.0 + CONTACT_TOL_REL)
        if too_far or (not self.crosswise and lines > 2 and h < d / 2.0):
            return None
        half, line = math.sqrt(d**2 - h**2), np.arange(lines)
        centres = _stack(line % 2 * half, d / 2.0 + line * h)
        return Cell(centres, 2.0 * half, "strained", lines, self.width_mm(lines))

    def blocks(self) -> Cell | None:
        """Return groups of cans against one guide and the other by turns.

        None for an exact fit, and for too few lines to make blocks of.
        """
        if self.lanes < (3 if self.crosswise else 2) or self.slack_mm == 0.0:
            return None
        rows = float((self.lanes + 1) // 2) if self.crosswise else self.lanes + 1.0
        check_count(rows * self.lanes)
        centres, period = self._rows_apart() if self.crosswise else self._triangles()
        return Cell(centres, period, "blocks", 2 * self.lanes, self.width_mm(self.lanes))

    def _triangles(self) -> tuple[Floats, float]:
        """Lengthwise blocks: triangles with their bases on one guide and the other by turns.

        Notes
        -----
        With n + 1 the lanes that fit and h D the slack, (n + 1)(n + 2) cans stand in a period of
        n + 2 √(1 − h²) diameters. Rows of n + 1, n, …, 1 cans make one triangle. The next one is
        upside down; its first base can stands a = n/2 + √(1 − h²) ahead. Rows j and n − j of the
        two triangles are h apart across and √(1 − h²) along, so they touch: the crack is a row of
        rhombs one diameter a side. [furedi1991]_ proves it densest for two lanes; [molnar1978]_
        conjectures it for more.
        """
        d, lanes = self.diameter_mm, self.lanes
        step = math.sqrt(1.0 - (self.slack_mm / d) ** 2)
        row, place = np.nonzero(np.tri(lanes, dtype=bool)[::-1])
        x, y = row / 2.0 + place, row * SIN60
        ahead = (lanes - 1) / 2.0 + step
        foot, top = 0.5, self.clear_width_mm / d - 0.5
        upright, inverted = _stack(x, foot + y), _stack(x + ahead, top - y)
        return d * np.concatenate((upright, inverted)), d * (lanes - 1 + 2.0 * step)

    def _rows_apart(self) -> tuple[Floats, float]:
        """Crosswise blocks: as many rows as fit cans across, against the left and right by turns.

        Notes
        -----
        Derived here. Rows alternate by D/2 throughout, so the row after a crack lies D/2 + S or
        D/2 − S aside of the row before it. Lines of cans repeat every D across, hence the nearest
        two cans are d = D/2 − S apart across in both cases, and touch at a row pitch of √(D² − d²),
        between D √3/2 and D. A second row on is at least D √3 away, so nothing else comes near. Two
        can lines alone would have only the D/2 + S side, hence three. It holds fewer cans per metre
        than the slack pack: each crack costs length.
        """
        radius, lanes, rows = self.pitch_mm, self.lanes, (self.lanes + 1) // 2
        crack = math.sqrt(self.diameter_mm**2 - (radius - self.slack_mm) ** 2)
        group = (rows - 1) * self.ahead_mm + crack
        row, line = np.divmod(np.arange(2 * rows * lanes), lanes)
        stands = (row + line) % 2 == 0
        row, line = row[stands], line[stands]
        second, place = np.divmod(row, rows)
        y = radius * (1 + line) + second * self.slack_mm
        return _stack(second * group + place * self.ahead_mm, y), 2.0 * group

    def why_not(self, state: str) -> str:
        """Say in plain words why a state that was asked for is not to be had at this width."""
        one, strained = self.lanes == 1, state == "strained"
        if self.slack_mm == 0.0:
            what = "the rows" if self.crosswise else f"{self.lanes} lanes"
            return f"{what} fit exactly: there is no slack for a {state} pack to take up"
        if not self.crosswise:
            close = f"{self.lanes + 1} lines would be too close: every second line would overlap"
            return close if strained else "a single lane makes no blocks"
        if one:
            return f"a single lane has no rows to make a {state} pack of"
        if strained:
            return "the two lines would be too far apart: every second row would overlap"
        return "rows of one can make no blocks"


def check_count(cans: float) -> None:
    """Raise `InputError` when a pack would hold more than ``MAX_CANS`` cans."""
    if cans > MAX_CANS:
        raise InputError("cans", f"{cans:.0f}", f"a pack of at most {MAX_CANS} cans")


def _stack(x: ArrayLike, y: ArrayLike) -> Floats:
    """Return centres, shape (k, 2), from x and y that broadcast together [mm]."""
    along, across = np.broadcast_arrays(np.asarray(x, np.float64), np.asarray(y, np.float64))
    return np.column_stack((along.ravel(), across.ravel()))
