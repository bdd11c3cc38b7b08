"""Where the side guides stand: brackets at stations, wires strung between them.

Places across the mat are measured from the mat's left edge, looking downstream; places along a
stage from its upstream end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.errors import InputError, finite, non_negative, one_of, positive, wire_heights

SHAPES: Final = ("straight", "funnel")
"""``straight``: every bracket is meant to stand alike. ``funnel``: they narrow or widen on purpose,
at an entrance or a discharge, and move together."""


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

    def steps_in_mm(self, last: Bracket) -> tuple[float, float]:
        """Return how far each face, left and right, stands in from that of the bracket before [mm].

        Below 0 it stands out.
        """
        return self.left_mm - last.left_mm, last.right_mm - self.right_mm


def even_brackets(
    length_mm: float, spacing_mm: float, clear_width_mm: float, centre_mm: float
) -> tuple[Bracket, ...]:
    """Return brackets from one end of a stage to the other, evenly, no farther apart than asked.

    Examples
    --------
    >>> [bracket.station_mm for bracket in even_brackets(2500.0, 1000.0, 600.0, 500.0)]
    [0.0, 833.333, 1666.667, 2500.0]
    """
    left, right = centre_mm - clear_width_mm / 2.0, centre_mm + clear_width_mm / 2.0
    return tuple(Bracket(at, left, right) for at in even_stations(length_mm, spacing_mm))


def even_stations(length_mm: float, spacing_mm: float) -> list[float]:
    """Return places from one end of a stage to the other, no farther apart than asked [mm]."""
    gaps = int(even_gaps(length_mm, spacing_mm))
    return [min(length_mm, length_mm * i / gaps) for i in range(gaps + 1)]


def even_gaps(length_mm: ArrayLike, spacing_mm: ArrayLike) -> NDArray[np.float64]:
    """Return how many even gaps no wider than asked go into a length, at least 1 [-]."""
    return np.maximum(1.0, np.ceil(np.divide(length_mm, spacing_mm) - 1e-9))


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

    @property
    def diameter_mm(self) -> float:
        """Diameter of a round stainless wire (8.0 g/cm³) of its mass [mm]."""
        return 2.0 * math.sqrt(self.mass_kg_per_m / (math.pi * 8.0e-3))

    def __post_init__(self) -> None:
        wire_heights("heights_mm", self.heights_mm)
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
    step_mm : float
        How far each face stands in at a bracket, over a few mm of travel [mm].
    travel_mm : tuple of float
        How far from its mat edge a face can be set, nearest and farthest [mm].
    shape : {"straight", "funnel"}
        What the brackets are meant to be, see `SHAPES`. Slack and window of either are those of
        the narrowest bracket.
    """

    brackets: tuple[Bracket, ...]
    wires: Wires
    setting_temperature_C: float = 20.0
    frame_expansion_per_K: float = 1.6e-5
    setting_step_mm: float = 1.0
    wear_mm: float = 0.0
    step_mm: float = 0.0
    travel_mm: tuple[float, float] | None = None
    shape: str = "straight"

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
        non_negative("step_mm", self.step_mm)
        if self.travel_mm is not None and not self.travel_mm[0] < self.travel_mm[1]:
            raise InputError("travel_mm", self.travel_mm, "nearest below farthest")
        one_of("shape", self.shape, SHAPES)

    @property
    def narrowest(self) -> Bracket:
        """The bracket of least clear width, the first of several."""
        return min(self.brackets, key=lambda bracket: bracket.clear_width_mm)

    @property
    def narrowest_mm(self) -> float:
        """Least clear width at any bracket [mm]."""
        return self.narrowest.clear_width_mm

    @property
    def widest_mm(self) -> float:
        """Greatest clear width at any bracket [mm]."""
        return max(bracket.clear_width_mm for bracket in self.brackets)

    @property
    def centre_mm(self) -> float:
        """Middle of the pass at the narrowest bracket, from the mat's left edge [mm]."""
        return self.narrowest.centre_mm

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
        """Return these guides with every bracket set to one clear width about one centre.

        Parameters
        ----------
        clear_width_mm : float
            New clear width at every bracket [mm].
        centre_mm : float, optional
            New middle of the pass, from the mat's left edge [mm]; each bracket keeps its own
            when omitted.

        Returns
        -------
        Guides
            A copy; travel limits are not enforced here, the size change reports them.
        """
        half = positive("clear_width_mm", clear_width_mm) / 2.0
        if self.shape == "funnel" or centre_mm is not None:
            middle = self.centre_mm if centre_mm is None else centre_mm
            return self.with_faces(middle - half, middle + half)
        own = [(b.station_mm, b.centre_mm - half, b.centre_mm + half) for b in self.brackets]
        return replace(self, brackets=tuple(Bracket(*one) for one in own))

    def with_faces(self, left_mm: float, right_mm: float) -> Guides:
        """Return these guides with the faces of the narrowest bracket at two places.

        The other brackets stand the same; those of a funnel keep their distance from it, so that it
        moves as a whole. Places are from the mat's left edge [mm].
        """
        base = self.narrowest
        moved = tuple(
            Bracket(
                b.station_mm,
                left_mm + b.left_mm - base.left_mm,
                right_mm + b.right_mm - base.right_mm,
            )
            if self.shape == "funnel"
            else Bracket(b.station_mm, left_mm, right_mm)
            for b in self.brackets
        )
        return replace(self, brackets=moved)


@dataclass(frozen=True, slots=True)
class Reach:
    """How near to and how far from its mat edge a guide face can stand.

    Parameters
    ----------
    mat_width_mm : float
        Mat width [mm].
    near_mm, far_mm : float
        Nearest and farthest, the same for both sides; ``far_mm`` may be infinite [mm].
    """

    mat_width_mm: float
    near_mm: float
    far_mm: float

    @classmethod
    def of(cls, guides: Guides, mat_width_mm: float) -> Reach:
        """Return the reach of a stage's brackets; the mat's edge is the end where none is known."""
        near, far = guides.travel_mm or (0.0, math.inf)
        return cls(mat_width_mm, max(0.0, near), far)

    @property
    def widths_mm(self) -> tuple[float, float]:
        """Least and greatest clear width [mm]."""
        mat = self.mat_width_mm
        return max(0.0, mat - 2.0 * self.far_mm), mat - 2.0 * self.near_mm

    def centres_mm(self, clear_width_mm: float) -> tuple[float, float]:
        """Least and greatest middle of a pass of this width; crossed when it is out of reach."""
        half, mat = clear_width_mm / 2.0, self.mat_width_mm
        low = max(self.near_mm + half, mat - self.far_mm - half)
        return low, min(self.far_mm + half, mat - self.near_mm - half)

    def farthest_beyond_mm(self, guides: Guides) -> float:
        """By how much the worst face of some guides is out of reach; 0 when none is [mm]."""
        sides = [(b.left_mm, self.mat_width_mm - b.right_mm) for b in guides.brackets]
        gaps = [gap for both in sides for gap in both]
        return max(0.0, self.near_mm - min(gaps), max(gaps) - self.far_mm)

    def room_mm(self, clear_width_mm: float, centre_mm: float) -> tuple[float, float]:
        """Room of a pass to the left and to the right before a face is out of reach [mm]."""
        low, high = self.centres_mm(clear_width_mm)
        return max(0.0, centre_mm - low), max(0.0, high - centre_mm)
