"""How far cans of many even packs can lean as laid: what single packs say can by can, in formulas.

A pack of the lane rule is a lattice, stretched along travel where it is not full, so its cans are
of a few kinds. Names: D the diameter, p how far cans of neighbouring lines stand apart along
travel, h how far the lines stand apart across.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats, Ints
from packsim.constants import CONTACT_TOL_REL, SIN60
from packsim.pack.lattice import lane_pitch_mm, lanes_width_mm
from packsim.tipping.gathered_slack import overhang_mm
from packsim.tipping.stops import wire_lean_rad

_FEWEST_LANES = 3
_THINNEST = {"lengthwise": 0.8, "crosswise": 0.9}
"""Fewer lanes have cans of other kinds; in a thinner pack other neighbours may be the nearer."""

_HALVINGS = 45  # of a right angle and a half: to the last digits of a lean


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LatticePacks:
    """Packs as laid, one layout, each slack in the middle; arrays of one shape.

    Parameters
    ----------
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.
    lanes : ndarray of int
        Lines of can centres, 1 or more.
    fill : ndarray
        Share of the touching pack's cans that is there [-].
    clear_width_mm, diameter_mm, height_mm : ndarray
        Guide face to guide face, and of the cans [mm].
    wires_mm : sequence of ndarray
        Heights of the guide wires; NaN for one that is gone [mm].
    """

    layout: str
    lanes: Ints
    fill: Floats
    clear_width_mm: Floats
    diameter_mm: Floats
    height_mm: Floats
    wires_mm: Sequence[Floats]

    @property
    def regular(self) -> Bools:
        """Where the formulas hold: enough lanes, nearly full, slack at the guides below D."""
        slack = self.clear_width_mm - lanes_width_mm(self.lanes, self.diameter_mm, self.layout)
        full = self.fill >= _THINNEST[self.layout]
        return np.asarray((self.lanes >= _FEWEST_LANES) & full & (slack < self.diameter_mm))

    @property
    def _lengthwise(self) -> bool:
        return self.layout == "lengthwise"

    @property
    def _along_mm(self) -> Floats:
        """How far cans of neighbouring lines stand apart along travel, p [mm]."""
        return (0.5 if self._lengthwise else SIN60) * self.diameter_mm / self.fill

    @property
    def _closed_mm(self) -> Floats:
        """How near neighbouring lines come to each other once cans touch, √(D² − p²) [mm]."""
        return np.asarray(np.sqrt(np.maximum(self.diameter_mm**2 - self._along_mm**2, 0.0)))

    def gathered_rad(self) -> Floats:
        """Largest lean with the slack of a can's chain gathered beside it [rad].

        As the largest of `packsim.tipping.gathered_slack.gathered_lean`. Lengthwise every chain
        takes D + (n − 1) √(D² − p²). Crosswise the rows that stand at a guide are chains of their
        own, m D long; those that do not start √(D² − p²) later.
        """
        d, near, width = self.diameter_mm, self._closed_mm, self.clear_width_mm
        if self._lengthwise:
            top = self._overhang_mm(width - d - (self.lanes - 1) * near)
        else:
            cans = (self.lanes + 1) // 2
            own = width - cans * d
            at_guide = self._overhang_mm(own)
            odd = np.minimum(self._overhang_mm(own + d - near), d - 2.0 * near + at_guide)
            top = np.where(self.lanes % 2 == 1, odd, self._overhang_mm(own - near))
        return np.asarray(np.arcsin(np.minimum(1.0, top / self.height_mm)))

    def _overhang_mm(self, gap_mm: Floats) -> Floats:
        return overhang_mm(gap_mm, self.wires_mm, self.height_mm)

    def own_rad(self) -> Floats:
        """Largest lean of a can while its neighbours stand still [rad].

        As the largest of `packsim.tipping.lean.own_lean`: inside, into the corner between two
        neighbours; at a guide, where the wire and the next can along the guide stop it at once.
        """
        d, along = self.diameter_mm, self._along_mm
        pitch = lane_pitch_mm(d, self.layout)
        gap = (self.clear_width_mm - lanes_width_mm(self.lanes, d, self.layout)) / 2.0
        in_line, zero = (2.0 * along, np.zeros_like(d)), np.zeros_like(d)
        ahead, aback = (along, pitch), (along, -pitch)
        corners = [(ahead, aback), (ahead, (-along, pitch))]
        ends = [(gap, in_line, aback)]
        if not self._lengthwise:
            corners = [(ahead, aback), (ahead, (zero, d))]
            ends += [(gap + pitch, ahead, aback)]
        travel = np.max([_corner_mm(*pair, d) for pair in corners], axis=0)
        inside = np.arcsin(np.minimum(1.0, travel / self.height_mm))
        return np.asarray(np.max([inside, *(self._end_rad(*end) for end in ends)], axis=0))

    def _end_rad(self, gap_mm: Floats, *beside_mm: tuple[Floats, Floats]) -> Floats:
        """Largest lean of a can at a guide, towards a direction between it and the cans beside.

        Off the guide's normal the wire stops it later, the cans beside it sooner: halved until both
        do at once, or one of them begins or ends to; either side of that may be the larger.
        """
        low, high = np.zeros_like(gap_mm), np.arctan2(*beside_mm[0])
        for _ in range(_HALVINGS):
            turn = (low + high) / 2.0
            wire_first = self._wire_rad(gap_mm, turn) < self._beside_rad(beside_mm, turn)
            low, high = np.where(wire_first, turn, low), np.where(wire_first, high, turn)
        leans = [
            np.minimum(self._wire_rad(gap_mm, turn), self._beside_rad(beside_mm, turn))
            for turn in (np.zeros_like(low), low, high)
        ]
        return np.asarray(np.max(leans, axis=0))

    def _wire_rad(self, gap_mm: Floats, turn_rad: Floats) -> Floats:
        return wire_lean_rad(gap_mm, self.wires_mm, self.height_mm, np.cos(turn_rad))

    def _beside_rad(self, beside_mm: Sequence[tuple[Floats, Floats]], turn_rad: Floats) -> Floats:
        """Lean at which a can beside stops one that leans so far off the guide's normal."""
        d, travel = self.diameter_mm, np.full(turn_rad.shape, np.inf)
        for x, y in beside_mm:
            ahead = x * np.sin(turn_rad) + y * np.cos(turn_rad)
            inside = ahead**2 - (x * x + y * y - d * d)
            free = ahead - np.sqrt(np.maximum(inside, 0.0))
            travel = np.where(
                (inside > 0.0) & (ahead > CONTACT_TOL_REL * d), np.minimum(travel, free), travel
            )
        return np.asarray(np.arcsin(np.clip(travel / self.height_mm, 0.0, 1.0)))


def _corner_mm(
    one: tuple[ArrayLike, ArrayLike], other: tuple[ArrayLike, ArrayLike], diameter_mm: Floats
) -> Floats:
    """How far a can moves into the corner between two others before it meets both [mm]."""
    (ax, ay), (bx, by) = ((np.asarray(v[0]), np.asarray(v[1])) for v in (one, other))
    half_x, half_y = (bx - ax) / 2.0, (by - ay) / 2.0
    square = half_x**2 + half_y**2
    step = np.sqrt(np.maximum(diameter_mm**2 / square - 1.0, 0.0))
    corners = (
        np.hypot(ax + half_x - turn * half_y, ay + half_y + turn * half_x) for turn in (step, -step)
    )
    return np.asarray(np.minimum(*corners))
