"""What a film or a row of photographs says: slack against time, travel, drift, how cans shake."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from packsim.errors import InputError
from packsim.look.followed import Moment, Step, apart_s, speed_of, steps_between
from packsim.look.known import Known
from packsim.look.measure import Looked
from packsim.look.shaking import root_of, shake_of, slope_of, walk_of

_UNLIKE_MAT: Final = 0.1
"""A speed off the mat's by more than this share is asked about."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Filmed:
    """What pictures of one place of the line say together; errors are 95 %.

    Parameters
    ----------
    moments : tuple of Moment
        The pictures that could be read, in the order of time.
    not_read : tuple of str
        Names of the others, and why.
    slack_mm : Known or None
        Mean slack, its error that of one picture, as the pictures share most of it [mm].
    slack_differs_mm : float or None
        Standard deviation of the slack between the pictures [mm].
    speed_mm_per_s : Known or None
        Speed of the cans along travel [mm/s].
    speed_from : {"cans", "scenario", ""}
        What tells it from a speed at which cans are moved on by one can more: the cans themselves,
        the mat speed of the scenario, or nothing.
    drift_mm_per_s : Known or None
        Mean speed of the cans to the right [mm/s].
    shake_across_mm, shake_along_mm : Known or None
        Root mean square of how far a can moves against its neighbours in one second, across and
        along travel; steps add up as the root of time [mm].
    cans, down : int
        Different cans seen standing or down, and those of them that are down.
    counted_once : bool
        Whether it is known which cans are in two pictures.
    not_seen : tuple of str
        What could not be seen or told, a sentence each.
    """

    moments: tuple[Moment, ...]
    not_read: tuple[str, ...]
    slack_mm: Known | None
    slack_differs_mm: float | None
    speed_mm_per_s: Known | None
    speed_from: str
    drift_mm_per_s: Known | None
    shake_across_mm: Known | None
    shake_along_mm: Known | None
    cans: int
    down: int
    counted_once: bool
    not_seen: tuple[str, ...]

    @property
    def interval_s(self) -> float | None:
        """Mean time from one picture to the next; None where it is not known [s]."""
        first, last = self.moments[0].time_s, self.moments[-1].time_s
        if first is None or last is None:
            return None
        return (last - first) / (len(self.moments) - 1)

    @property
    def typical(self) -> Looked:
        """The picture whose slack is in the middle of all; it stands for them where one has to."""
        known = [one.looked for one in self.moments if one.looked.slack_mm is not None]
        if not known:
            return self.moments[len(self.moments) // 2].looked
        order = sorted(known, key=lambda looked: looked.slack_mm.value if looked.slack_mm else 0.0)
        return order[len(order) // 2]


def measure_film(
    moments: Sequence[Moment],
    not_read: Sequence[str] = (),
    *,
    mat_mm_per_s: float | None = None,
    still: bool = False,
) -> Filmed:
    """Say what pictures of one place of the line say together.

    Parameters
    ----------
    moments : sequence of Moment
        Pictures by a camera that stands still, at least two.
    not_read : sequence of str
        What could not be read.
    mat_mm_per_s : float, optional
        Mat speed of the scenario: it says by how many cans the pack moved on where the cans do not
        [mm/s].
    still : bool
        Whether all are in one view, of a camera that stood still; else places across go by a guide.

    Returns
    -------
    Filmed
        Every answer with its error, and what could not be told.

    Raises
    ------
    InputError
        If there are fewer than two pictures.

    Notes
    -----
    How cans shake is the mean square of their moves from picture to picture plus twice the mean of
    the product of two moves that follow each other, over the time in between: errors of centres,
    which make a can seem to jump there and back, leave that sum ([vestergaard2014]_).
    """
    ordered, odd = _alike(moments)
    if len(ordered) < 2:
        raise InputError("photo", f"{len(ordered)} picture that can be read", "two or more")
    said: list[str] = []
    speed, source = speed_of(ordered, mat_mm_per_s, said)
    steps = steps_between(ordered, (speed, still), said) if source else []
    shake = shake_of(ordered, steps)
    if steps and shake is None:
        said.append("how cans shake: too few cans are in three pictures one after the other")
    if source:
        said += _odd_speed(speed, mat_mm_per_s)
    if not still:
        said.append(
            "where the camera stood: the pictures are not all from one place, so each has a scale "
            "of its own and moves are less well known"
        )
    walk = walk_of(steps, shake)
    drift = _drift(ordered, steps, (still, walk[1]), said)
    if shake is not None and shake[1].value <= shake[1].within:
        said.append("shaking across is below what the pictures can tell: its error is as large")
    slack = [one.looked.slack_mm for one in ordered if one.looked.slack_mm is not None]
    values = [one.value for one in slack]
    seen = [one.looked.seen for one in ordered]
    counts = _counted(ordered, speed if source else mat_mm_per_s)
    if counts is None:
        said.append("which cans are in two pictures: those count twice")
    if not slack:
        said.append("the slack: no picture shows both guides")
    return Filmed(
        moments=tuple(ordered),
        not_read=(*not_read, *odd),
        slack_mm=Known(float(np.mean(values)), max(one.within for one in slack)) if slack else None,
        slack_differs_mm=float(np.std(values, ddof=1)) if len(values) > 1 else None,
        speed_mm_per_s=slope_of(ordered, [one.travel_mm for one in steps], walk[0], of_scale=True),
        speed_from=source if steps else "",
        drift_mm_per_s=drift,
        shake_across_mm=None if shake is None else root_of(shake[1]),
        shake_along_mm=None if shake is None else root_of(shake[0]),
        cans=counts[0] if counts else sum(len(one) for one in seen),
        down=counts[1] if counts else sum(int(one.are("down").sum()) for one in seen),
        counted_once=counts is not None,
        not_seen=tuple(said),
    )


def _alike(moments: Sequence[Moment]) -> tuple[list[Moment], list[str]]:
    """Return the pictures in the order of time, those whose rows run as in most; why not others."""
    ordered = sorted(moments, key=lambda one: (one.time_s is None, one.time_s or 0.0, one.name))
    kinds = [one.looked.layout for one in ordered]
    most = max(sorted(set(kinds)), key=kinds.count, default="")
    odd = [
        f"{one.name}: rows run the other way than in most of the pictures; give --travel"
        for one in ordered
        if one.looked.layout != most
    ]
    return [one for one in ordered if one.looked.layout == most], odd


def _odd_speed(speed: float, mat_mm_per_s: float | None) -> Iterator[str]:
    """Yield what is odd about the speed of the cans."""
    if speed < 0.0:
        yield "the cans move against the way of travel that was taken: give --travel anew"
    elif mat_mm_per_s is not None and abs(speed / mat_mm_per_s - 1.0) > _UNLIKE_MAT:
        yield (
            f"why the cans go at {speed:,.0f} mm/s on a mat that the scenario says goes at "
            f"{mat_mm_per_s:,.0f} mm/s: is that speed right, and the time between pictures?"
        )


def _drift(
    ordered: Sequence[Moment], steps: Sequence[Step], how: tuple[bool, float], said: list[str]
) -> Known | None:
    still, walk = how
    sides = set() if still else {bool(math.isnan(one.looked.seen.guides_mm[0])) for one in ordered}
    across = [one.across_mm for one in steps]
    if steps and (len(sides) > 1 or not np.isfinite(across).all()):
        said.append("drift: not one guide is seen in every picture")
        return None
    return slope_of(ordered, across, walk)


def _counted(ordered: Sequence[Moment], speed: float | None) -> tuple[int, int] | None:
    """Different cans of all pictures, and those that are down in one; None where not known."""
    from scipy.spatial import cKDTree

    first = ordered[0].looked.seen
    known, down = first.centres_mm, first.are("down")
    for one, other in pairwise(ordered):
        time_s, seen = apart_s(one, other), other.looked.seen
        if speed is None or not time_s > 0.0:
            return None
        known = known + np.array([speed * time_s, 0.0])
        far, which = cKDTree(known).query(seen.centres_mm)
        lies = seen.are("down")
        # the middle of a can that has gone down is not where it stood
        new = far > np.where(lies, 1.0, 0.5) * seen.diameter_mm
        known[which[~new]] = seen.centres_mm[~new]
        down[which[~new & lies]] = True
        known = np.concatenate((known, seen.centres_mm[new]))
        down = np.concatenate((down, lies[new]))
    return len(known), int(down.sum())
