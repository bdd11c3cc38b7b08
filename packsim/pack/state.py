"""The pack between its guides as data."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packsim.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Pack:
    """A pack of equal cans in a straight strip, periodic along travel.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres: along travel 0 <= x < length_mm, across y from the left guide face [mm].
        Read-only.
    diameter_mm : float
        Can diameter [mm].
    clear_width_mm : float
        Guide face to guide face [mm].
    length_mm : float
        Length of one period along travel [mm].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.
    state : {"slack", "strained", "blocks", "does not fit"}
        How the pack fills the width.
    lanes : int
        Number of distinct can centre lines along travel; 0 when nothing fits. In ``blocks`` the
        lines of both kinds of block count.
    pack_width_mm : float
        Width the touching pack needs [mm].
    fill : float
        Share of the state's cans per metre that is there, above 0 up to 1 [-].
    reason : str
        Why nothing fits, or empty.
    repeats : int
        How often the pack repeats in its length; its cans are in that order [-].
    """

    centres_mm: Floats
    diameter_mm: float
    clear_width_mm: float
    length_mm: float
    layout: str
    state: str
    lanes: int
    pack_width_mm: float
    fill: float = 1.0
    reason: str = ""
    repeats: int = 1

    def __len__(self) -> int:
        return int(self.centres_mm.shape[0])

    @property
    def fits(self) -> bool:
        """Whether at least one lane of cans fits."""
        return self.lanes > 0

    def once(self) -> Pack:
        """Return the first repeat alone: whatever a can of the pack sees, one of it does."""
        cans, length = len(self) // self.repeats, self.length_mm / self.repeats
        return replace(self, centres_mm=self.centres_mm[:cans], length_mm=length, repeats=1)

    @property
    def slack_mm(self) -> float:
        """Clear width less pack width [mm]; below 0 where the lanes are squeezed.

        Where rows lie spread from guide to guide the slack is between their cans.
        """
        return self.clear_width_mm - self.pack_width_mm

    @property
    def cans_per_metre(self) -> float:
        """Cans per metre of mat [1/m]."""
        return 1000.0 * len(self) / self.length_mm

    @property
    def density(self) -> float:
        """Share of the strip between the guides that cans cover [-]."""
        can = np.pi * self.diameter_mm**2 / 4.0
        return float(len(self) * can / (self.clear_width_mm * self.length_mm))
