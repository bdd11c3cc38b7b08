"""What a tipped can does to the pack: it leans on what stops it, leaves a hole, or lies across.

How a can is down is one number: 0 while it stands, the angle at which it leans, a right angle where
it lies flat, infinite where it is gone.
"""

import math

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places, asked_again
from packsim.compiled import kernel

FLAT = math.pi / 2.0
"""A can that lies on the mat [rad]."""

GONE = math.inf
"""A can that rides on top or is off the mat; its place is free."""

FREE_MM, PRESSED_MM = 0.1, 0.5
"""A lying can sinks on while nobody overlaps it by more than the first, and is lifted again by more
than the second [mm]."""

_SHARES = np.array([-1.0, -0.5, 0.5, 1.0])
"""Where on the axis of a lying can discs stand besides the one in its middle, over half of the
distance between its end discs: 66 mm wide and 124 mm long, they leave notches of 0.8 mm."""


def down_rad(way: str, stop_rad: float, balance_rad: float) -> float:
    """Return how a can that tips is down.

    Parameters
    ----------
    way : {"leans", "leaves a hole", "lies across"}
        What tipped cans do in its stage.
    stop_rad : float
        Lean at which neighbours or guide stop it; a right angle where nothing does [rad].
    balance_rad : float
        Its balance angle [rad].

    Returns
    -------
    float
        Angle as of this module [rad]. One that neighbours stop short of its balance angle made them
        give way; it is taken to stay at its balance angle. Its push on them is left out.
    """
    if way == "leaves a hole":
        return GONE
    return FLAT if way == "lies across" else min(max(stop_rad, balance_rad, 1e-6), FLAT)


@asked_again
def who_is_down(down_rad: Floats) -> tuple[Bools, Ints, Ints]:
    """Return who does not stand, shape (n,), their numbers, and those of who lies flat."""
    down = down_rad > 0.0
    return down, np.flatnonzero(down), np.flatnonzero(down_rad == FLAT)


def lying_discs(
    place_mm: Places, down_rad: Floats, fell_rad: Floats, span_mm: Floats
) -> tuple[Places, Ints]:
    """Return the discs that lying cans have besides the one at their middle.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (n,)
        Middles of all cans [mm].
    down_rad, fell_rad : ndarray, shape (n,)
        How they are down, and in which direction they fell [rad].
    span_mm : ndarray, shape (n,)
        Distance between the discs at both ends of each lying can [mm].

    Returns
    -------
    place_mm : ndarray of complex128, shape (m,)
        Centres of those discs [mm].
    owner : ndarray of int64, shape (m,)
        Whose they are.
    """
    flat = who_is_down(down_rad)[2]
    if flat.size == 0:
        return np.empty(0, dtype=np.complex128), flat
    offset = (np.exp(1j * fell_rad[flat]) * span_mm[flat] / 2.0)[:, None] * _SHARES
    return (place_mm[flat][:, None] + offset).ravel(), np.repeat(flat, _SHARES.size)


def made_rigid(
    place_mm: Places, owner: Ints, fell_rad: Floats, span_mm: Floats
) -> tuple[Places, Floats]:
    """Bring the discs of lying cans back into line where each of them was pushed by itself.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (n + m,)
        Middles of the n cans, then the further discs of lying ones [mm].
    owner : ndarray of int64, shape (m,)
        Whose discs those are, as of `lying_discs`.
    fell_rad : ndarray, shape (n,)
        Directions in which the cans lie [rad].
    span_mm : ndarray, shape (n,)
        As for `lying_discs` [mm].

    Returns
    -------
    place_mm : ndarray of complex128, shape (n + m,)
        Places with each body moved and turned as one, the least-squares fit [mm].
    fell_rad : ndarray, shape (n,)
        Directions after it [rad].
    """
    n, each = fell_rad.size, _SHARES.size
    flat = owner[::each]
    discs = np.column_stack((place_mm[n:].reshape(-1, each), place_mm[flat]))
    share = np.append(_SHARES, 0.0)
    middle = discs.mean(axis=1)  # the shares sum to 0
    turned = (discs - middle[:, None]) @ share
    fell = fell_rad.copy()
    fell[flat] = np.where(span_mm[flat] > 1.0, np.angle(turned), fell[flat])
    axis = (np.exp(1j * fell[flat]) * span_mm[flat] / 2.0)[:, None] * share
    placed = middle[:, None] + axis
    out = place_mm.copy()
    out[flat], out[n:] = placed[:, -1], placed[:, :-1].ravel()
    return out, fell


def sunk(
    place_mm: Places,
    down_rad: Floats,
    fell_rad: Floats,
    span_mm: Floats,
    press_mm: Floats,
    by_mm: float,
    whole_mm: float,
) -> tuple[Places, Floats]:
    """Let lying cans sink down, as far as the pack makes room for them.

    Parameters
    ----------
    place_mm, down_rad, fell_rad, span_mm : ndarray, shape (n,)
        As for `lying_discs` [mm], [rad].
    press_mm : ndarray, shape (n,)
        Worst overlap of each can with others [mm].
    by_mm : float
        How much longer a can may get in the pack [mm].
    whole_mm : float
        Its span where it lies flat, height less diameter [mm].

    Returns
    -------
    place_mm : ndarray of complex128, shape (n,)
        Middles; the end that stood first stays where it is [mm].
    span_mm : ndarray, shape (n,)
        Longer where nobody presses, shorter where the pack cannot make room [mm]. A can that finds
        none stays propped up on its neighbours.
    """
    flat = down_rad == FLAT
    grow = np.where(press_mm < FREE_MM, by_mm, np.where(press_mm > PRESSED_MM, -by_mm, 0.0))
    span = np.where(flat, np.clip(span_mm + grow, 0.0, whole_mm), 0.0)
    return place_mm + (span - span_mm) / 2.0 * np.exp(1j * fell_rad), span


@kernel
def room_beside_mm(
    vector_mm: complex,
    travel_mm: float,
    towards: complex,
    down_rad: float,
    radius_mm: float,
    height_mm: float,
) -> float:
    """How far the top of a standing can moves before it meets one that is down.

    Parameters
    ----------
    vector_mm : complex
        From the standing can to the other, turned so that the lean goes along +x [mm].
    travel_mm : float
        How far it would move if the other stood upright, infinite past it [mm].
    towards : complex
        Unit direction in which the other fell, turned alike.
    down_rad : float
        How far it leans; `FLAT` where it lies [rad].
    radius_mm, height_mm : float
        Radius of either can, and height of a can [mm].

    Returns
    -------
    float
        Travel of the top [mm], infinite where the other is not met.

    Notes
    -----
    Derived here, rims taken as rigid. A can that leans away by θ has its back rim lifted to
    2 R sin θ and drawn off by 2 R (1 − cos θ): the wall of a can close behind it meets that rim at
    a lean of atan((1 − cos θ)/sin θ) = θ/2. Elsewhere on its rim the lift has 1 + c for 2, c the
    cosine between its fall and the line to the contact. Its top stands H sin θ out, in the way of
    tops. A lying can is met about its axis, like a guide wire at half a diameter.
    """
    if down_rad >= FLAT:
        return _top_mm(max(travel_mm, 0.0), radius_mm, height_mm)
    sin, cos = math.sin(down_rad), math.cos(down_rad)
    behind, facing = _contact(vector_mm, travel_mm, towards)
    lift = radius_mm * (1.0 + behind)
    out = max(travel_mm + lift * (1.0 - cos) * behind / facing, 0.0)
    rim = _top_mm(out, lift * sin, height_mm)
    longer = radius_mm * (1.0 / cos - 1.0)  # half axis of its cut at a height, over its radius
    top = vector_mm + (height_mm * sin - longer) * towards
    over = contact_mm(top.real, top.imag, 2.0 * radius_mm)
    behind, facing = _contact(top, over, towards)
    over = max(over - abs(behind) * longer / facing, 0.0)
    lower = math.sqrt(height_mm**2 - min(over, height_mm) ** 2)
    over += behind * math.tan(down_rad) * (lower - height_mm * cos) / facing
    return min(rim, max(over, 0.0))


@kernel
def contact_mm(along_mm: float, aside_mm: float, total_mm: float) -> float:
    """How far a disc travels before it meets another, a ray cast [mm].

    Parameters
    ----------
    along_mm, aside_mm : float
        Place of the other disc along the travel and square to it [mm].
    total_mm : float
        Sum of the two radii [mm].

    Returns
    -------
    float
        along − √(total² − aside²) [mm], infinite for a disc that is passed by or lies behind;
        negative where the two overlap.

    Examples
    --------
    >>> [contact_mm(along, aside, 5.0) for along, aside in ((10.0, 3.0), (10.0, 6.0), (-10.0, 0.0))]
    [6.0, inf, inf]
    """
    room = total_mm * total_mm - aside_mm * aside_mm
    return along_mm - math.sqrt(room) if room > 0.0 and along_mm > 0.0 else math.inf


@kernel
def _contact(vector_mm: complex, travel_mm: float, towards: complex) -> tuple[float, float]:
    """Cosines between the line to the contact and the fall of the other, and the lean."""
    normal = vector_mm - (travel_mm if travel_mm < math.inf else 0.0)
    normal /= max(abs(normal), 1e-12)
    return (normal * towards.conjugate()).real, max(normal.real, 0.05)


@kernel
def _top_mm(out_mm: float, at_mm: float, height_mm: float) -> float:
    """How far a top moves until its wall meets something ``out_mm`` away at height ``at_mm``."""
    far = math.hypot(out_mm, at_mm)
    if far >= height_mm:
        return math.inf
    return height_mm * out_mm / far if far > 0.0 else 0.0
