"""How a can that was kicked turns about its rim: over and down, or back, those in its way leaning.

The law is that of `packsim.passage.tip`: an energy to lean each can, nothing lost where one meets
the next. I·θ'' = moment(θ) is integrated along the path of the whole group, with the energy kept.
"""

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError, non_negative, positive

_NODES = 160
"""Nodes of a path on either side of the tip angle, closer together towards it: the time of a fall
is then within 1e-4 of the elliptic integral (measured in tests)."""


@dataclass(frozen=True, slots=True, eq=False)
class Leaners:
    """The can that was kicked, first, and those it makes lean with it; arrays of shape (n,).

    Parameters
    ----------
    balance_rad, energy_mJ : ndarray
        Balance angle of each where it stands, and energy to it [rad], [mJ].
    before_mm : ndarray
        Gaps that the first can's top crosses before each has to give way; 0 for itself [mm].
    height_mm : float
        Can height H [mm].
    inertia_kg_mm2 : float
        Moment of inertia of one about its rim, see `packsim.tipping.rocking.can_rocker` [kg mm²].
    righting_N_mm : float
        Weight times arm m g ρ of one, for a can that its sprays alone tip [N·mm].
    """

    balance_rad: Floats
    energy_mJ: Floats
    before_mm: Floats
    height_mm: float
    inertia_kg_mm2: float
    righting_N_mm: float

    def __post_init__(self) -> None:
        positive("height_mm", self.height_mm)
        positive("inertia_kg_mm2", self.inertia_kg_mm2)
        shapes = {self.balance_rad.shape, self.energy_mJ.shape, self.before_mm.shape}
        if len(shapes) != 1 or self.balance_rad.size == 0:
            raise InputError("leaners", sorted(shapes), "arrays of one length, at least 1")

    def leans_rad(self, first_rad: Floats) -> Floats:
        """Lean of every can at leans of the first, shape (m, n) [rad].

        Parameters
        ----------
        first_rad : ndarray, shape (m,)
            Leans of the first can [rad].

        Returns
        -------
        ndarray, shape (m, n)
            sin θ_k = max(0, sin θ_1 − before_k / H), up to the first one's balance angle: beyond it
            the push on the others is left out, and they stay as they are [rad].
        """
        lean = np.asarray(first_rad, dtype=np.float64)
        held = np.sin(np.minimum(lean, self.balance_rad[0]))[:, None]
        leans: Floats = np.arcsin(np.maximum(held - self.before_mm / self.height_mm, 0.0))
        leans[:, 0] = lean
        return leans

    def work_mJ(self, first_rad: Floats) -> Floats:
        """Energy to lean all of them so far as the first leans, shape (m,) [mJ].

        Notes
        -----
        K [cos(α − θ) − cos α] each, K = U/(1 − cos α): weight alone exactly, with sprays as in
        `packsim.tipping.part_way.part_of_energy_mJ`. A can that is pushed costs no more than U; the
        first gives it back beyond its balance angle.
        """
        leans, alpha = self.leans_rad(first_rad), self.balance_rad
        whole = 2.0 * np.sin(alpha / 2.0) ** 2
        stiff = np.full(alpha.shape, self.righting_N_mm)
        np.divide(self.energy_mJ, whole, out=stiff, where=whole > 1e-9)
        pushed = np.minimum(leans, alpha)
        pushed[:, 0] = leans[:, 0]
        part = 2.0 * np.sin(alpha - pushed / 2.0) * np.sin(pushed / 2.0)
        return np.asarray((stiff * part).sum(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Swing:
    """The lean of a can over time since the kick; arrays of shape (m,) [s], [rad].

    ``over`` is whether it went past its balance angle.
    """

    time_s: Floats
    lean_rad: Floats
    over: bool

    def at(self, time_s: float) -> float:
        """Return the lean at a time; before and after the swing as at its ends [rad]."""
        return float(np.interp(time_s, self.time_s, self.lean_rad))

    @property
    def lasts_s(self) -> float:
        """How long it takes [s]."""
        return float(self.time_s[-1])


def swing(leaners: Leaners, kick_mJ: float, end_rad: float) -> Swing:
    """Return how a kicked can swings until it is down, or back on its foot.

    Parameters
    ----------
    leaners : Leaners
        The can, and those it makes lean.
    kick_mJ : float
        Energy of the kick, all of it in the motion [mJ].
    end_rad : float
        Lean at which something stops it for good. Nothing bounces: stopped short of its balance
        angle it falls back from there, stopped beyond it is down [rad].

    Returns
    -------
    Swing
        From upright on. One that comes back ends upright: the cans behind take what is left.

    Notes
    -----
    With s the path of all cans, ds² = Σ dθ_k², the group moves as one body: I s''= −dU/ds. Between
    nodes U is taken as straight, so s is uniformly accelerated there and the energy is kept
    exactly: a stretch Δs takes 2 Δs over the sum of the speeds at its ends. That meets turning
    points and an all but balanced can without trouble. Derived here. A can that comes to lean takes
    its part of the motion at once; what rubs is left out.
    """
    non_negative("kick_mJ", kick_mJ)
    alpha, end = float(leaners.balance_rad[0]), max(float(end_rad), 0.0)
    turn = _turning_rad(leaners, kick_mJ, min(alpha, end))
    lean = _nodes(min(turn, alpha), end if turn >= min(alpha, end) else turn, leaners)
    work, path = leaners.work_mJ(lean), _path(leaners, lean)
    time = _times_s(kick_mJ - work, path, leaners.inertia_kg_mm2)
    if turn >= alpha and end >= alpha:
        return Swing(time, lean, over=True)
    # it begins its way back at rest
    back = time if turn < end else _times_s(work[-1] - work, path, leaners.inertia_kg_mm2)
    after = time[-1] + back[-1] - back[-2::-1]
    return Swing(np.append(time, after), np.append(lean, lean[-2::-1]), over=False)


def _turning_rad(leaners: Leaners, kick_mJ: float, end: float) -> float:
    """Lean at which a kick is used up, ``end`` where it is not; the work grows up to there."""
    if leaners.work_mJ(np.array([end]))[0] < kick_mJ:
        return end
    low, high = 0.0, end
    while high - low > 1e-12:
        middle = (low + high) / 2.0
        if leaners.work_mJ(np.array([middle]))[0] < kick_mJ:
            low = middle
        else:
            high = middle
    return low


def _nodes(slow: float, end: float, leaners: Leaners) -> Floats:
    """Leans from upright to the end, closer together towards the one at which it is slow.

    Where another can comes to lean is one of them.
    """
    out = np.sin(np.linspace(0.0, math.pi / 2.0, _NODES))
    met = np.arcsin(np.minimum(leaners.before_mm / leaners.height_mm, 1.0))
    beyond = [slow + (end - slow) * (1.0 - out)] if end > slow else []
    return np.unique(np.concatenate([slow * out, met[met < min(slow, end)], *beyond]))


def _path(leaners: Leaners, lean: Floats) -> Floats:
    """Length s of the path of all cans at leans of the first, from the first of them [rad]."""
    steps = np.diff(leaners.leans_rad(lean), axis=0)
    return np.append(0.0, np.cumsum(np.sqrt((steps**2).sum(axis=1))))


def _times_s(left_mJ: Floats, path: Floats, inertia_kg_mm2: float) -> Floats:
    """Return when each node is passed, by the energy left there for the motion [s]."""
    # kg mm²/s² is a thousandth of a millijoule
    speed = np.sqrt(2e3 * np.maximum(left_mJ, 0.0) / inertia_kg_mm2)
    mean = np.maximum(speed[1:] + speed[:-1], 1e-12)
    return np.append(0.0, np.cumsum(2.0 * np.diff(path) / mean))


def rocked_rad(
    time_s: Floats,
    kick_mJ: Floats,
    balance_rad: Floats,
    energy_mJ: Floats,
    room_rad: Floats,
    inertia_kg_mm2: Floats,
) -> Floats:
    """Lean of many cans that stay, each a time after its kick, in Housner's form for small leans.

    Parameters
    ----------
    time_s, kick_mJ : ndarray, shape (n,)
        Time since each was kicked, and the energy [s], [mJ].
    balance_rad, energy_mJ : ndarray, shape (n,)
        Balance angle α and energy to it [rad], [mJ].
    room_rad : ndarray, shape (n,)
        Lean at which it meets somebody; it falls back from there, nothing bounces [rad].
    inertia_kg_mm2 : ndarray, shape (n,)
        Moments of inertia about the rim [kg mm²].

    Returns
    -------
    ndarray, shape (n,)
        α − α cosh pt + (ω/p) sinh pt, p² = K sin α/(α I), on the way out and back; 0 once it has
        landed. The room ends a lean past balance too: these cans stay. Within 5 % of the greatest
        lean of `swing` for kicks up to 0.4 of what an empty can needs (measured in tests) [rad].
    """
    alpha = np.maximum(balance_rad, 1e-4)
    moment = np.maximum(energy_mJ, 1e-9) * np.sin(alpha) / (1.0 - np.cos(alpha))
    rate = np.sqrt(1e3 * moment / alpha / inertia_kg_mm2)
    start = np.sqrt(2e3 * kick_mJ / inertia_kg_mm2) / rate
    room = np.minimum(np.maximum(room_rad, 0.0), 0.999 * alpha)
    # it meets its room at u = e^pt with (ω/p − α) u² + 2 (α − room) u − (ω/p + α) = 0
    a, b, c = start - alpha, alpha - room, start + alpha
    root = b * b + a * c
    meets = root >= 0.0
    u = c / np.maximum(b + np.sqrt(np.maximum(root, 0.0)), 1e-12)
    met = np.where(meets, np.log(np.maximum(u, 1.0)) / rate, math.inf)
    out = np.minimum(np.minimum(time_s, met) * rate, 30.0)
    lean = alpha - alpha * np.cosh(out) + start * np.sinh(out)
    late = np.maximum(time_s - met, 0.0) * rate
    back = alpha - (alpha - room) * np.cosh(np.minimum(late, 30.0))
    return np.asarray(np.maximum(np.where(time_s > met, back, lean), 0.0))
