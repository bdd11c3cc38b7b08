"""Which packs a clear width can hold: the looser one, which is judged, and the stretched one.

Between two exact fits a width holds fewer lanes with slack, or one lane more squeezed. Nobody can
tell from outside which of the two a line will run, so everything that judges safety, counts, prices
or draws takes the looser one, the worse of the two.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats, Ints
from packsim.constants import CONTACT_TOL_REL, SIN60
from packsim.errors import between, one_of, positive
from packsim.pack.lattice import LAYOUTS, lane_pitch_mm, lanes_width_mm

_EQUAL = 1.0 + 1e-9
"""Cans per metre this near to each other are the same number."""


def lanes_per_metre(lanes: int, diameter_mm: float, layout: str) -> float:
    """Cans per metre of a full touching pack, n/D, or n/(√3 D) crosswise [1/m].

    A single lane is a row of touching cans in either layout.
    """
    return float(full_per_metre(np.array(lanes), diameter_mm, layout))


def full_per_metre(lanes: Ints, diameter_mm: ArrayLike, layout: str) -> Floats:
    """`lanes_per_metre` of arrays that are broadcast together [1/m]."""
    lengthwise = one_of("layout", layout, LAYOUTS) == "lengthwise"
    period = np.where(lengthwise | (lanes == 1), 1.0, 2.0 * SIN60) * diameter_mm
    return np.asarray(1000.0 * lanes / period)


@dataclass(frozen=True, slots=True)
class LanePack:
    """Some lanes at a clear width.

    Parameters
    ----------
    lanes : int
        Can centre lines along travel; 0 when not even one can fits.
    pack_width_mm : float
        Width of their touching pack [mm].
    slack_mm : float
        Clear width less pack width [mm]; negative by what the lanes are squeezed.
    cans_per_metre : float
        Cans it holds when full, at this width [1/m].
    fill : float
        Share of them that the infeed delivers, above 0 up to 1 [-].
    state : {"slack", "squeezed", "strained", "blocks"}
        How it takes the width up; the last two only where a stage asks for them.
    """

    lanes: int
    pack_width_mm: float
    slack_mm: float
    cans_per_metre: float
    fill: float
    state: str = "slack"

    @property
    def squeezed_mm(self) -> float:
        """What the lanes are short of their touching width [mm]; 0 where they have slack."""
        return max(0.0, -self.slack_mm)

    @property
    def carried_per_metre(self) -> float:
        """Cans the lanes carry on a metre of mat, at that fill [1/m]."""
        return self.cans_per_metre * self.fill


@dataclass(frozen=True, slots=True)
class LanePacks:
    """The packs a clear width can hold.

    Parameters
    ----------
    judged : LanePack
        The looser pack: the fewest lanes that can carry the cans the infeed delivers. Judged,
        counted, priced and drawn.
    might_be : LanePack or None
        One lane more than fit, squeezed, where it stands and holds the cans delivered.
    fit_lanes : int
        Most lanes that fit without squeezing; more than the judged ones under a thin infeed.
    why : str
        The rule at work, in words; lengths in mm.
    """

    judged: LanePack
    might_be: LanePack | None
    fit_lanes: int
    why: str

    @property
    def fits(self) -> bool:
        """Whether at least one can fits."""
        return self.judged.lanes > 0


def packs_at(
    clear_width_mm: float, diameter_mm: float, layout: str = "lengthwise", fill: float = 1.0
) -> LanePacks:
    """Return the packs a clear width can hold.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Clear width and nominal can diameter [mm].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run. Crosswise, 2m − 1 lanes stand for rows of m and m − 1 cans
        (m D wide) and 2m lanes for rows of m and m ((m + ½) D wide).
    fill : float
        Share of the cans per metre of the most lanes that fit, full, which the infeed delivers,
        above 0 up to 1 [-].

    Returns
    -------
    LanePacks
        The looser pack and, where it can stand, the squeezed one.

    Notes
    -----
    Let n lanes fit, W_n wide and ρ_n cans per metre when full. The infeed delivers f ρ_n, and fewer
    lanes m carry that where ρ_m >= f ρ_n. So a pack leaves n lanes to be impossible only once the
    width holds n + 1 and f ρ_(n+1) > ρ_n; under a thinner infeed it may still run n lanes there,
    with more than a lane of slack.

    Squeezed lengthwise, n + 1 lines stand h = (W − D)/n apart and the cans of a line
    2 √(D² − h²). Squeezed crosswise, rows of m and m lie s = W − m D aside of each other, a row
    pitch √(D² − s²) apart; a row of one can more does not go in. Derived here.

    Examples
    --------
    >>> one = packs_at(1148.0, 66.0)
    >>> one.judged.lanes, round(one.judged.slack_mm, 1)
    (19, 53.2)
    >>> one.might_be.lanes, round(one.might_be.squeezed_mm, 1)
    (20, 4.0)
    """
    width = positive("clear_width_mm", clear_width_mm)
    diameter = positive("diameter_mm", diameter_mm)
    share = between("fill", positive("fill", fill), 0.0, 1.0)
    fit, lanes = (int(n) for n in lanes_between(width, diameter, layout, share))
    if not fit:
        none = LanePack(0, diameter, width - diameter, 0.0, share)
        why = f"one can needs {diameter:g} mm, the guides stand {width:g} mm apart"
        return LanePacks(none, None, 0, why)
    delivered = share * lanes_per_metre(fit, diameter, layout)
    judged = _touching(width, diameter, layout, lanes, delivered)
    might_be = _squeezed(width, diameter, layout, fit + 1, delivered)
    return LanePacks(judged, might_be, fit, _why(judged, might_be, fit, share))


def lanes_between(
    clear_width_mm: ArrayLike, diameter_mm: ArrayLike, layout: str, fill: ArrayLike
) -> tuple[Ints, Ints]:
    """Return the lanes that fit between guides, and the fewest that carry what the infeed delivers.

    Parameters
    ----------
    clear_width_mm, diameter_mm : array_like
        As for `packs_at` [mm].
    layout
        As for `packs_at`.
    fill : array_like
        As for `packs_at`; all are broadcast together [-].

    Returns
    -------
    fit, lanes : ndarray of int64
        Both 0 where not one can fits.
    """
    width, share, diameter = np.broadcast_arrays(clear_width_mm, fill, diameter_mm)
    pitch, touch = lane_pitch_mm(diameter, layout), CONTACT_TOL_REL * diameter
    fit = 1 + np.floor((width - diameter + touch) / pitch).astype(np.int64)
    fit = np.where(width < diameter - touch, 0, fit)
    delivered = share * full_per_metre(fit, diameter, layout) / _EQUAL
    one, two = (full_per_metre(np.array(n), diameter, layout) for n in (1, 2))
    lanes = np.where(delivered <= one, 1, np.ceil(2.0 * delivered / two))
    return fit, np.minimum(fit, lanes.astype(np.int64))


def _touching(
    width_mm: float, diameter_mm: float, layout: str, lanes: int, delivered: float
) -> LanePack:
    need = lanes_width_mm(lanes, diameter_mm, layout)
    slack = width_mm - need
    slack = 0.0 if slack <= CONTACT_TOL_REL * diameter_mm else slack
    full = lanes_per_metre(lanes, diameter_mm, layout)
    return LanePack(lanes, need, slack, full, min(1.0, delivered / full))


def _squeezed(
    width_mm: float, diameter_mm: float, layout: str, lanes: int, delivered: float
) -> LanePack | None:
    """Lanes one more than fit, or None where they cannot stand or cannot carry the cans."""
    need = lanes_width_mm(lanes, diameter_mm, layout)
    if layout == "lengthwise":
        h = (width_mm - diameter_mm) / (lanes - 1)
        if lanes > 2 and h < diameter_mm / 2.0:
            return None
        full = 1000.0 * lanes / (2.0 * math.sqrt(diameter_mm**2 - h**2))
    else:
        rows, odd = divmod(lanes, 2)
        if odd:
            return None
        aside = max(0.0, width_mm - rows * diameter_mm)
        full = 1000.0 * rows / math.sqrt(diameter_mm**2 - aside**2)
    if full * _EQUAL < delivered:
        return None
    share = min(1.0, delivered / full)
    return LanePack(lanes, need, width_mm - need, full, share, state="squeezed")


def _why(judged: LanePack, might_be: LanePack | None, fit: int, fill: float) -> str:
    text = f"{judged.lanes} lanes leave {judged.slack_mm:.1f} mm"
    if fit > judged.lanes:
        text += f": {fit} would fit, but at a fill of {fill:g} the infeed may bring fewer lanes"
    if might_be is not None:
        text += f"; {might_be.lanes} lanes are {might_be.squeezed_mm:.1f} mm short"
    return text
