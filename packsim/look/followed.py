"""Pictures one after the other: the speed of the cans, and each can followed on its way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.look.measure import Looked
from packsim.look.moves import Shifts, against_neighbours, same_cans, shifts_between
from packsim.look.seen import SeenPack

_PLAINLY: Final = 1.5
"""The true shift fits better than any other by this factor, of mean squares; else none is told."""

_SAME_SPEED: Final = 0.3
"""Shifts off a speed by less than this share of a diameter are of that speed."""


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """One picture and when it was taken.

    Parameters
    ----------
    name : str
        Name of the picture.
    time_s : float or None
        Time since the first one; None where nobody knows [s].
    looked : Looked
        What it says.
    """

    name: str
    time_s: float | None
    looked: Looked


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """From one picture to the next: time, cans in both, and how they moved on the mat."""

    time_s: float
    pairs: Ints
    travel_mm: float
    across_mm: float
    moved_mm: Floats


def apart_s(one: Moment, other: Moment) -> float:
    """Time from one picture to another; nan where it is not known [s]."""
    if one.time_s is None or other.time_s is None:
        return math.nan
    return other.time_s - one.time_s


def speed_of(
    ordered: Sequence[Moment], mat_mm_per_s: float | None, said: list[str]
) -> tuple[float, str]:
    """Return the speed at which all pictures fit best, and what tells it from the others."""
    found: list[tuple[float, Shifts]] = []
    for one, other in pairwise(ordered):
        time_s = apart_s(one, other)
        if time_s > 0.0:
            found.append((time_s, shifts_between(one.looked.seen, other.looked.seen)))
    if not found:
        said.append("travel, drift and shaking: it is not known when the pictures were taken")
        return 0.0, ""
    fitting = [(time_s, shifts) for time_s, shifts in found if len(shifts.travel_mm)]
    if not fitting:
        said.append(
            f"travel, drift and shaking: pictures {found[0][0]:.3g} s apart share too few cans"
        )
        return 0.0, ""
    shortest, shifts = min(fitting, key=lambda one: one[0])
    diameter = ordered[0].looked.seen.diameter_mm
    speeds = shifts.travel_mm / shortest
    misfits = np.array([_misfit(float(v), fitting, diameter) for v in speeds])
    best = int(misfits.argmin())
    others = np.delete(misfits, best)
    if others.size and others.min() > _PLAINLY * misfits[best]:
        return float(speeds[best]), "cans"
    apart = np.abs(np.delete(speeds, best) - speeds[best])
    next_mm_per_s = float(apart.min(initial=2.0 * diameter / shortest))
    if mat_mm_per_s is not None:
        near = int(np.abs(speeds - mat_mm_per_s).argmin())
        if abs(speeds[near] - mat_mm_per_s) < 0.5 * next_mm_per_s:
            return float(speeds[near]), "scenario"
    said.append(
        f"travel, drift and shaking: at {speeds[best]:,.0f} mm/s the cans fit as well as at "
        f"{next_mm_per_s:,.0f} mm/s more or less, a can further on from picture to picture. "
        "Film with more pictures a second, or give --scenario with the mat speed"
    )
    return 0.0, ""


def _misfit(speed: float, fitting: Sequence[tuple[float, Shifts]], diameter_mm: float) -> float:
    """Misfit of pictures at a speed, the middle one of all [mm²]."""
    near, all_of = _SAME_SPEED * diameter_mm, []
    for time_s, shifts in fitting:
        off = np.abs(shifts.travel_mm - speed * time_s)
        at = int(off.argmin())
        all_of.append(float(shifts.misfit_mm2[at]) if off[at] < near else near**2)
    return float(np.median(all_of))


def steps_between(
    ordered: Sequence[Moment], how: tuple[float, bool], said: list[str]
) -> list[Step]:
    """Follow the cans from picture to picture, as far as every one shares cans with the next."""
    steps: list[Step] = []
    speed, still = how
    for one, other in pairwise(ordered):
        time_s = apart_s(one, other)
        before, after = one.looked.seen, other.looked.seen
        pairs = same_cans(before, after, speed * time_s)
        up = ~before.are("down")[pairs[:, 0]] & ~after.are("down")[pairs[:, 1]]
        pairs = pairs[up]
        if len(pairs) < 2:
            said.append(f"travel, drift and shaking: no can of {one.name} is in {other.name}")
            return []
        places = before.centres_mm[pairs[:, 0]]
        moved = after.centres_mm[pairs[:, 1]] - places
        shift = 0.0 if still else _guide(after) - _guide(before)
        steps.append(
            Step(
                time_s,
                pairs,
                float(moved[:, 0].mean()),
                float(moved[:, 1].mean()) - shift,
                against_neighbours(places, moved),
            )
        )
    return steps


def _guide(seen: SeenPack) -> float:
    """Return where a guide that is seen is across, nan without one [mm]."""
    left, right = seen.guides_mm
    return float(right if math.isnan(left) else left)
