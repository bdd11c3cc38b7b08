"""How much slack, all in one place, lets a can past its balance point: at a guide, in the pack."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.errors import InputError, at_least, finite
from packsim.tipping.stops import lean_index, wire_lean_rad


@dataclass(frozen=True, slots=True)
class SafeSlack:
    """The slack at which the first can of a row could reach its balance point.

    Parameters
    ----------
    slack_mm : float
        The smaller of the two limits below [mm].
    edge_mm : float
        Limit for a can beside the guide; 0 when no wire supports it [mm].
    centre_mm : float
        Limit for a can between other cans [mm].
    governing : {"edge", "centre"}
        Which of the two is smaller; the edge when they are equal.
    governing_wire_mm : float or None
        Height of the wire that sets ``edge_mm`` [mm]; None when no wire supports the can.
    """

    slack_mm: float
    edge_mm: float
    centre_mm: float
    governing: str
    governing_wire_mm: float | None


@dataclass(frozen=True, slots=True)
class TipIndex:
    """How far a slack lets cans lean, against their balance angle.

    Parameters
    ----------
    edge, centre : float
        Lean over balance angle beside the guide and inside the pack, 1 = balance point [-];
        infinite where nothing stops the can, or where a load has used up the balance angle.
    edge_lean_rad, centre_lean_rad : float
        The leans; `NOTHING_HOLDS_RAD` where nothing stops the can [rad].
    verdict : {"tight", "held", "loose", "can tip"}
        ``tight``: slack below 0, the pack does not fit. ``held``: slack at most safe slack over
        the factor. ``loose``: above that, but still below the safe slack, so no can
        reaches its balance point. ``can tip``: a can reaches its balance point.
    """

    edge: float
    centre: float
    edge_lean_rad: float
    centre_lean_rad: float
    verdict: str

    @property
    def worst(self) -> float:
        """The larger of the two indices [-]."""
        return max(self.edge, self.centre)


def wire_limit_mm(height_mm: float | Floats, balance_rad: ArrayLike, wire_mm: ArrayLike) -> Floats:
    """Gap at a guide from which one wire still brings back a can that leans on it [mm].

    Parameters
    ----------
    height_mm : float
        Can height H [mm].
    balance_rad : array_like
        Balance angle α, the load included [rad].
    wire_mm : array_like
        Wire height z; NaN for a wire that is gone [mm].

    Returns
    -------
    ndarray
        z tan α up to z = H cos α, √(H² − z²) from there to the top, 0 above it.

    Notes
    -----
    A can that leans by θ meets the wire across a gap g when z tan θ = g, as long as its top edge,
    at H cos θ, is not below the wire (`wire_lean_rad`). The top edge passes under a wire at z when
    the gap is more than √(H² − z²), which happens before balance when z > H cos α. So the limit
    rises with the wire until z = H cos α, where it is H sin α, and falls to nothing from there to
    the top of the can: a wire close under the top of the can is not the safest. Derived here.

    Examples
    --------
    >>> [float(wire_limit_mm(124.0, math.atan(33.0 / 74.0), z)) for z in (60.0, 113.2, 122.0)]
    [26.757, 50.481, 22.181]
    """
    z = np.asarray(wire_mm, dtype=np.float64)
    if (z <= 0.0).any():
        raise InputError("wire_mm", float(z.min()), "a number above 0")
    reach = np.sqrt(np.maximum(0.0, height_mm**2 - z**2))
    return np.asarray(np.minimum(z * np.tan(balance_rad), reach))


def edge_slack_mm(
    height_mm: float | Floats, balance_rad: ArrayLike, wire_heights_mm: Sequence[ArrayLike]
) -> tuple[Floats, Floats]:
    """Most slack a set of wires can take before an edge can reaches its balance point.

    Parameters
    ----------
    height_mm : float
        Can height H [mm].
    balance_rad : array_like, any shape
        Effective balance angle α [rad].
    wire_heights_mm : sequence of array_like
        Height of each wire, broadcasts with the angle; NaN where it is gone [mm].

    Returns
    -------
    limit_mm : ndarray
        Largest `wire_limit_mm` of the wires; 0 when no wire is below H [mm].
    wire_mm : ndarray
        The wire it belongs to; NaN when there is none [mm].

    Examples
    --------
    >>> limit, wire = edge_slack_mm(124.3, math.radians(24.0), [45.0, 90.0])
    >>> float(limit), float(wire)
    (40.07, 90.0)
    """
    shape = np.broadcast_shapes(*(np.shape(each) for each in (balance_rad, *wire_heights_mm)))
    best, wire = np.zeros(shape), np.full(shape, np.nan)
    for z in wire_heights_mm:
        limit = wire_limit_mm(height_mm, balance_rad, z)
        better = (limit > best) | (np.isnan(wire) & (np.asarray(z) < height_mm))
        best, wire = np.where(better, limit, best), np.where(better, z, wire)
    return best, wire


def centre_slack_mm(height_mm: float | Floats, balance_rad: ArrayLike) -> Floats:
    """Most slack before a can between others reaches its balance point, H sin α [mm]."""
    return np.asarray(height_mm * np.sin(balance_rad))


def gathered_leans_rad(
    slack_mm: ArrayLike, wire_heights_mm: Sequence[ArrayLike], height_mm: float | Floats
) -> tuple[Floats, Floats]:
    """Lean of a can beside the guide and of one inside, all slack gathered in front of it [rad].

    Atan(S / z) on the highest wire that touches (`wire_lean_rad`) and asin(S / H); arrays are
    broadcast together.
    """
    edge = wire_lean_rad(slack_mm, wire_heights_mm, height_mm)
    return edge, np.arcsin(np.clip(np.asarray(slack_mm) / height_mm, 0.0, 1.0))


def slack_verdict(slack_mm: ArrayLike, allowed_mm: ArrayLike, index: ArrayLike) -> NDArray[np.str_]:
    """Judge slack against what is allowed and the tip index it gives, in words; see `TipIndex`."""
    slack = np.asarray(slack_mm)
    cases = [slack < 0.0, np.asarray(index) >= 1.0, slack <= allowed_mm]
    return np.select(cases, ["tight", "can tip", "held"], "loose")


def safe_slack(
    stance: Stance, wire_heights_mm: Sequence[float], balance_rad: float | None = None
) -> SafeSlack:
    """Slack below which no can of a row can reach its balance point, wherever it gathers.

    Parameters
    ----------
    stance : Stance
        The can as it stands.
    wire_heights_mm : sequence of float
        Guide wire heights [mm].
    balance_rad : float, optional
        Balance angle under load; the stance's own by default [rad].

    Returns
    -------
    SafeSlack
        Both limits and which one governs.

    Notes
    -----
    Slack shared between guide and pack is no worse than all of it in one place. Let an edge can
    lean by θ on its wire while the can behind, with gap s to it, leans to α. The shoulder of the
    second meets the back wall of the first at
    s = H sin α + 2R(sec θ − 1) − H cos α tan θ, and with g = z tan θ at the guide the sum S = s + g
    is least at sin θ = (H cos α − z)/2R, where S = H sin α − 2R(1 − cos θ). Against it the edge
    limit is z tan α = H sin α − 2R sin θ tan α, smaller because tan α > tan(θ/2) for θ <= α. For
    z >= H cos α the least S is at θ = 0, the centre limit; for low wires at θ = α, where S exceeds
    z tan α. Derived here; more leaning cans between only add terms 2R(sec θ − 1). Valid for upright
    rigid cans of one height, pack rows straight across.

    Examples
    --------
    >>> safe = safe_slack(Stance(66.09, 124.3, 0.0102, 74.2), [45.0, 90.0])
    >>> safe.governing, safe.slack_mm, safe.centre_mm
    ('edge', 40.08, 50.57)
    """
    alpha = stance.balance_under_load_rad(balance_rad)
    edge, wire = map(float, edge_slack_mm(stance.height_mm, alpha, wire_heights_mm))
    centre = float(centre_slack_mm(stance.height_mm, alpha))
    governing = "edge" if edge <= centre else "centre"
    return SafeSlack(min(edge, centre), edge, centre, governing, None if math.isnan(wire) else wire)


def tip_index(
    slack_mm: float,
    stance: Stance,
    wire_heights_mm: Sequence[float],
    balance_rad: float | None = None,
    *,
    factor: float = 2.0,
) -> TipIndex:
    """Judge a slack, all of it gathered in the worst place.

    Parameters
    ----------
    slack_mm : float
        Clear width minus pack width [mm].
    stance, wire_heights_mm, balance_rad
        As for `safe_slack`.
    factor : float
        Safety factor on the safe slack, at least 1 [-].

    Returns
    -------
    TipIndex
        Leans atan(S / z) on the highest touching wire and asin(S / H) inside, their indices and a
        verdict.

    Examples
    --------
    >>> can = Stance(66.09, 124.3, 0.0102, 74.2)
    >>> [tip_index(s, can, [90.0]).verdict for s in (-1.0, 15.0, 25.0, 41.0)]
    ['tight', 'held', 'loose', 'can tip']
    """
    slack = finite("slack_mm", slack_mm)
    at_least("factor", factor, 1.0)
    alpha = stance.balance_under_load_rad(balance_rad)
    leans = gathered_leans_rad(slack, wire_heights_mm, stance.height_mm)
    edge, centre = (float(lean_index(lean, alpha)) for lean in leans)
    limit = safe_slack(stance, wire_heights_mm, alpha).slack_mm / factor
    verdict = str(slack_verdict(slack, limit, max(edge, centre)))
    return TipIndex(edge, centre, float(leans[0]), float(leans[1]), verdict)
