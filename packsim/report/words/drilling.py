"""A header as a shop makes it: where its holes are, from what, and what else has to be said.

Places are counted from one end of the pipe, so that no error of one hole is carried to the next.
They are rounded to what a shop can hold, once: drawing, table and file say the same.
"""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.constants import MM_PER_INCH
from packsim.errors import InputError
from packsim.headers import HeaderDesign
from packsim.headers.row_search import HOLE_MM, whole
from packsim.scenario.values.ranges import read_value

SHOP_IN: Final = 0.005
"""A place on a shop drawing is a multiple of this, or of `HOLE_MM` in millimetres [in]."""

PROPOSALS: Final = {
    "best": "recommended",
    "uneven": "unequal spacing",
    "in line": "all headers alike",
    "fewer": "fewer nozzles",
    "today": "today's",
    "lanes": "nearest to lanes",
}
"""Which of the headers of a design may be drawn, and what each is called."""


def shop_text(mm: float, unit: str) -> str:
    """Return a length [mm] as a shop reads it, in ``mm`` or ``in``: to 0.1 mm or 0.005 in.

    Examples
    --------
    >>> shop_text(97.52, "mm"), shop_text(97.5, "in"), shop_text(-0.01, "mm")
    ('97.5', '3.840', '0.0')
    """
    step, digits = (HOLE_MM, 1) if unit == "mm" else (SHOP_IN, 3)
    value = mm if unit == "mm" else mm / MM_PER_INCH
    return f"{round(value / step) * step + 0.0:.{digits}f}"


def hole_mm(text: str) -> float | None:
    """Return the diameter of a hole given as a length with its unit; None for a thread [mm].

    Examples
    --------
    >>> hole_mm("8 mm"), hole_mm("1/4 NPT")
    (8.0, None)
    """
    with suppress(InputError):
        return read_value("hole", "length", text, None)
    return None


@dataclass(frozen=True, slots=True)
class Shop:
    """What only the plant or its shop knows of a header; what is left out is said to be.

    Parameters
    ----------
    hole : str
        Diameter or thread of a hole as it is ordered, such as ``1/4 NPT`` or ``8 mm``.
    hole_mm, pipe_diameter_mm : float, optional
        Diameters of hole and pipe [mm].
    pipe_mm : tuple of float, optional
        Ends of the pipe from the mat's left edge [mm].
    number, revision, date : str
        Of the drawing.
    """

    hole: str = ""
    hole_mm: float | None = None
    pipe_diameter_mm: float | None = None
    pipe_mm: tuple[float, float] | None = None
    number: str = ""
    revision: str = ""
    date: str = ""


@dataclass(frozen=True, eq=False)
class Drilling:
    """One kind of header to make.

    Parameters
    ----------
    design : HeaderDesign
        The design it is part of.
    places_mm : ndarray, shape (n,)
        Holes from the mat's left edge, as designed [mm].
    stations : tuple of tuple
        Stage, and place along it, of every header of this kind [mm].
    mat_mm : float
        Width of the mat [mm].
    shop : Shop
        What the shop adds.
    """

    design: HeaderDesign
    places_mm: Floats
    stations: tuple[tuple[str, float], ...]
    mat_mm: float
    shop: Shop

    @cached_property
    def ends_mm(self) -> tuple[float, float]:
        """Ends of the pipe: as given, or the mat's edges, or a pitch beyond holes outside them."""
        if self.shop.pipe_mm is not None:
            return self.shop.pipe_mm
        beyond = float(np.max(np.diff(self.places_mm), initial=10.0))
        low, high = float(self.places_mm[0]), float(self.places_mm[-1])
        left = 0.0 if low > 0.0 else low - beyond
        return left, self.mat_mm if high < self.mat_mm else high + beyond

    @cached_property
    def from_end_mm(self) -> Floats:
        """Holes from datum A, the pipe's left end, rounded to `HOLE_MM` [mm]."""
        return np.asarray(whole(self.places_mm - self.ends_mm[0]))

    @cached_property
    def centre_mm(self) -> float:
        """Datum B, the middle of the mat, from datum A, rounded to `HOLE_MM` [mm]."""
        return float(whole(self.mat_mm / 2.0 - self.ends_mm[0]))

    def places_in_words(self, hole: int) -> tuple[str, ...]:
        """Return a hole's place, counted from 0: from A in mm and in, from B in mm and in."""
        from_a = float(self.from_end_mm[hole])
        places = (from_a, from_a - self.centre_mm)
        return tuple(shop_text(x, unit) for x in places for unit in ("mm", "in"))

    @property
    def hole(self) -> str:
        """What a hole is."""
        return self.shop.hole or "as the nozzle's thread"

    @property
    def where(self) -> str:
        """Say which headers are made like this."""
        stages = dict.fromkeys(stage for stage, _ in self.stations)
        each = [
            f"{stage} at {', '.join(f'{at:g}' for name, at in self.stations if name == stage)} mm"
            for stage in stages
        ]
        return "; ".join(each)

    @property
    def sizes(self) -> tuple[str, ...]:
        """Say each size's lanes and the clear width taken for it."""
        found = []
        for at in self.design.packs:
            width = at.pack.clear_width_mm
            text = f"{at.can.name}: {at.pack.lanes} lanes, clear width {width:.1f} mm"
            found.append(f"{text} ({width / MM_PER_INCH:.3f} in)")
        return tuple(found)

    @property
    def datum(self) -> str:
        """Say what places are counted from."""
        left = self.ends_mm[0]
        edge = f"{abs(left):.1f} mm {'inside' if left >= 0.0 else 'outside'} the mat's left edge"
        edge = "level with the mat's left edge" if left == 0.0 else edge
        return f"A: the pipe's left end, {edge}, looking downstream; B: middle of the mat"

    @property
    def tolerance(self) -> str:
        """Say how exact a hole has to be, and how places are rounded."""
        off = self.design.tolerance_mm
        return (
            f"each hole within {off:g} mm ({off / MM_PER_INCH:.3f} in) of its place from A; "
            f"places rounded to {HOLE_MM} mm and to {SHOP_IN} in; millimetres rule"
        )


def drillings(
    designs: Sequence[HeaderDesign], mat_mm: float, shop: Shop, what: str = "best"
) -> tuple[Drilling, ...]:
    """Return the headers to make, each kind once.

    Headers of one side that are drilled aside of each other are of several kinds.

    Parameters
    ----------
    designs : sequence of HeaderDesign
        The designs.
    mat_mm : float
        Width of the mat [mm].
    shop : Shop
        What the shop adds.
    what : str
        Which of their proposals, one of `PROPOSALS`; ``best`` is the recommended one.

    Returns
    -------
    tuple of Drilling
        By design and header.

    Raises
    ------
    InputError
        If a design has no such proposal, or a hole is outside the pipe.
    """
    found = []
    for one in designs:
        chosen = one.best if what == "best" else one.proposal(what)
        if chosen is None:
            had = ", ".join(dict.fromkeys(["best", *(p.what for p in one.proposals)]))
            raise InputError("proposal", repr(what), f"one of {had}")
        rows = chosen.nozzles_mm[:1] if chosen.in_line else chosen.nozzles_mm
        for k, row in enumerate(rows):
            stations = tuple(
                (stage, header.station_mm)
                for stage, headers in zip(one.stages, one.today, strict=True)
                for header in headers[k :: len(rows)]
            )
            made = Drilling(one, np.sort(row), stations, mat_mm, shop)
            length = made.ends_mm[1] - made.ends_mm[0]
            if not 0.0 < made.from_end_mm[0] <= made.from_end_mm[-1] < length:
                far = f"{made.places_mm[0]:.1f} to {made.places_mm[-1]:.1f} mm"
                raise InputError("pipe-to", f"holes from {far}", "a pipe that is longer than that")
            found.append(made)
    return tuple(found)
