"""Where the side guides stand: brackets at stations, wires strung between them.

Places across the mat are measured from the mat's left edge, looking downstream; places along a
stage from its upstream end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.check import finite, non_negative, positive
from packsim.errors import InputError


@dataclass(frozen=True, slots=True)
class Bracket:
    """The pair of adjustable brackets at one place along a stage.

    Parameters
    ----------
    station_mm : float
        Place along the stage [mm].
    left_mm, right_mm : float
        Inner faces of the wires, from the mat's left edge [mm].
    """

    station_mm: float
    left_mm: float
    right_mm: float

    def __post_init__(self) -> None:
        non_negative("station_mm", self.station_mm)
        finite("left_mm", self.left_mm)
        if finite("right_mm", self.right_mm) <= self.left_mm:
            raise InputError("right_mm", self.right_mm, f"more than left_mm = {self.left_mm}")

    @property
    def clear_width_mm(self) -> float:
        """Clear width, guide face to guide face [mm]."""
        return self.right_mm - self.left_mm

    @property
    def centre_mm(self) -> float:
        """Middle between the two faces, from the mat's left edge [mm]."""
        return (self.left_mm + self.right_mm) / 2.0


@dataclass(frozen=True, slots=True)
class Wires:
    """The tensioned wires of one side; the other side is its mirror.

    Parameters
    ----------
    heights_mm : tuple of float
        Heights above the mat, lowest first [mm].
    tension_N : float
        Tension as set, cold [N].
    mass_kg_per_m : float
        Mass of the wire per metre [kg/m].
    stiffness_N : float
        Axial stiffness E·A [N].
    expansion_per_K : float
        Linear thermal expansion [1/K].
    anchored : bool
        True if both ends are fixed; False if a take-up keeps the tension.
    """

    heights_mm: tuple[float, ...]
    tension_N: float
    mass_kg_per_m: float
    stiffness_N: float
    expansion_per_K: float = 1.6e-5
    anchored: bool = True

    def __post_init__(self) -> None:
        if not self.heights_mm:
            raise InputError("heights_mm", "no wire", "at least one wire")
        for i, height in enumerate(self.heights_mm):
            positive(f"heights_mm[{i}]", height)
        if any(b <= a for a, b in pairwise(self.heights_mm)):
            raise InputError("heights_mm", list(self.heights_mm), "heights rising from the mat")
        positive("tension_N", self.tension_N)
        non_negative("mass_kg_per_m", self.mass_kg_per_m)
        positive("stiffness_N", self.stiffness_N)
        non_negative("expansion_per_K", self.expansion_per_K)


@dataclass(frozen=True, slots=True)
class Guides:
    """Both side guides of one stage.

    Parameters
    ----------
    brackets : tuple of Bracket
        In order along the stage; at least one. Before the first and after the last the faces run
        on straight.
    wires : Wires
        The wires of each side.
    setting_temperature_C : float
        Temperature at which the brackets were set [°C].
    frame_expansion_per_K : float
        Thermal expansion of the frame that carries the brackets [1/K].
    setting_step_mm : float
        Smallest step a bracket is set to; a setting is right to half of it [mm].
    wear_mm : float
        Wear of one guide face since it was measured [mm].
    travel_mm : tuple of float
        How far from its mat edge a face can be set, nearest and farthest [mm].
    """

    brackets: tuple[Bracket, ...]
    wires: Wires
    setting_temperature_C: float = 20.0
    frame_expansion_per_K: float = 1.6e-5
    setting_step_mm: float = 1.0
    wear_mm: float = 0.0
    travel_mm: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if not self.brackets:
            raise InputError("brackets", "none", "at least one bracket")
        stations = [bracket.station_mm for bracket in self.brackets]
        if any(b <= a for a, b in pairwise(stations)):
            raise InputError("brackets", stations, "stations rising along the stage")
        finite("setting_temperature_C", self.setting_temperature_C)
        non_negative("frame_expansion_per_K", self.frame_expansion_per_K)
        non_negative("setting_step_mm", self.setting_step_mm)
        non_negative("wear_mm", self.wear_mm)
        if self.travel_mm is not None and not self.travel_mm[0] < self.travel_mm[1]:
            raise InputError("travel_mm", self.travel_mm, "nearest below farthest")

    @property
    def narrowest_mm(self) -> float:
        """Least clear width at any bracket [mm]."""
        return min(bracket.clear_width_mm for bracket in self.brackets)

    @property
    def widest_mm(self) -> float:
        """Greatest clear width at any bracket [mm]."""
        return max(bracket.clear_width_mm for bracket in self.brackets)

    @property
    def span_mm(self) -> float:
        """Longest free wire length between two brackets, 0 with a single bracket [mm]."""
        stations = [bracket.station_mm for bracket in self.brackets]
        return max((b - a for a, b in pairwise(stations)), default=0.0)

    @property
    def centre_mm(self) -> float:
        """Middle of the pass at the narrowest bracket, from the mat's left edge [mm]."""
        return min(self.brackets, key=lambda bracket: bracket.clear_width_mm).centre_mm

    def faces_mm(self, station_mm: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return left and right face at stations along the stage, shape (n,) each [mm].

        Straight between brackets, without bow; from the mat's left edge.
        """
        at = np.asarray(station_mm, dtype=np.float64)
        stations = [bracket.station_mm for bracket in self.brackets]
        left = np.interp(at, stations, [bracket.left_mm for bracket in self.brackets])
        right = np.interp(at, stations, [bracket.right_mm for bracket in self.brackets])
        return left, right

    def set_to(self, clear_width_mm: float, centre_mm: float | None = None) -> Guides:
        """Return these guides with every bracket set to one clear width about one centre [mm].

        The centre is from the mat's left edge; each bracket keeps its own when omitted. Travel
        limits are not enforced here, the size change reports them.
        """
        half = positive("clear_width_mm", clear_width_mm) / 2.0
        moved = []
        for bracket in self.brackets:
            middle = bracket.centre_mm if centre_mm is None else centre_mm
            moved.append(Bracket(bracket.station_mm, middle - half, middle + half))
        return replace(self, brackets=tuple(moved))
