"""The pack between its guides, and the ways it can take up a clear width."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.constants import CONTACT_TOL_REL
from packsim.errors import between, one_of, positive
from packsim.pack.lattice import LAYOUTS, Cell, Lattice, check_count

PACK_STATES: Final = ("densest", "slack", "strained", "blocks")
"""States one may ask for; ``densest`` is the fuller of slack and strained."""

STUDY_LENGTH_MM: Final = 500.0
"""Length of pack looked at. A pack repeats after a can or two along travel (blocks: after about
its own width), so half a metre holds every place there is; nothing reported depends on it."""

_SHARE_LEFT: Final = {"left": 0.0, "centred": 0.5, "right": 1.0}


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


def pack_between(
    clear_width_mm: float,
    diameter_mm: float,
    layout: str = "lengthwise",
    length_mm: float = 1000.0,
    fill: float = 1.0,
    *,
    state: str = "densest",
    lie: str = "centred",
    lanes: int | None = None,
) -> Pack:
    """Pack the strip between two straight guides.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, and the can diameter [mm].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.
    length_mm : float
        Least length along travel [mm]; the pack has the next whole number of lattice periods.
    fill : float
        Share of the state's cans per metre that is there, above 0 up to 1. Below 1 the pack is
        stretched along travel: contacts with a part along travel open [-].
    state : {"densest", "slack", "strained", "blocks"}
        How the width is taken up; ``densest`` is slack or strained, whichever has more cans per
        metre. Blocks can be denser than both, but need every can in its one place.
    lie : {"centred", "left", "right"}
        Where a slack pack lies: slack shared out, or the pack against one guide.
    lanes : int, optional
        Fewer lanes than fit, for the state ``slack``.

    Returns
    -------
    Pack
        Where the width holds no can, or not the state asked for, a pack of no cans with the reason.

    Raises
    ------
    InputError
        If a length is not finite and above 0, a word is unknown, or the pack would hold more than
        ``MAX_CANS`` cans.

    Examples
    --------
    >>> pack = pack_between(1152.0, 66.0)
    >>> pack.lanes, round(pack.slack_mm, 2), round(pack.cans_per_metre, 1)
    (20, 0.01, 303.0)
    >>> pack_between(60.0, 66.0).reason
    'one can needs 66 mm, the guides stand 60 mm apart'
    """
    positive("clear_width_mm", clear_width_mm)
    positive("diameter_mm", diameter_mm)
    positive("length_mm", length_mm)
    between("fill", positive("fill", fill), 0.0, 1.0)
    one_of("layout", layout, LAYOUTS)
    one_of("lie", lie, tuple(_SHARE_LEFT))
    one_of("state", state, PACK_STATES)
    nothing = Pack(
        centres_mm=_read_only(np.empty((0, 2))),
        diameter_mm=diameter_mm,
        clear_width_mm=clear_width_mm,
        length_mm=length_mm,
        layout=layout,
        state="does not fit",
        lanes=0,
        pack_width_mm=diameter_mm,
        fill=fill,
    )
    if clear_width_mm < diameter_mm * (1.0 - CONTACT_TOL_REL):
        why = f"one can needs {diameter_mm:g} mm, the guides stand {clear_width_mm:g} mm apart"
        return replace(nothing, reason=why)
    lattice = Lattice(max(clear_width_mm, diameter_mm), diameter_mm, layout, lanes)
    cell = _cell(lattice, state, _SHARE_LEFT[lie])
    if cell is None:
        width = lattice.width_mm(lattice.lanes)
        return replace(nothing, pack_width_mm=width, reason=lattice.why_not(state))
    return _laid_out(cell, nothing)


def candidate_packs(
    clear_width_mm: float,
    diameter_mm: float,
    layout: str = "lengthwise",
    length_mm: float = 1000.0,
    fill: float = 1.0,
) -> tuple[Pack, ...]:
    """Return every state this clear width can hold: slack, strained and blocks, in this order.

    Parameters
    ----------
    clear_width_mm, diameter_mm, layout, length_mm, fill
        As for `pack_between`.

    Returns
    -------
    tuple of Pack
        One to three packs; none when not even one can fits.

    Examples
    --------
    >>> [(pack.state, pack.lanes) for pack in candidate_packs(1130.0, 66.0)]
    [('slack', 19), ('strained', 20), ('blocks', 38)]
    """
    packs = (
        pack_between(clear_width_mm, diameter_mm, layout, length_mm, fill, state=state)
        for state in PACK_STATES[1:]
    )
    return tuple(pack for pack in packs if pack.fits)


def _cell(lattice: Lattice, state: str, share_left: float) -> Cell | None:
    """One period of a state, or None where it cannot stand."""
    if state in ("strained", "blocks"):
        return lattice.strained() if state == "strained" else lattice.blocks()
    loose = lattice.slack(share_left)
    tight = lattice.strained() if state == "densest" else None
    if tight is None:
        return loose
    fuller = len(tight.centres_mm) * loose.period_mm > len(loose.centres_mm) * tight.period_mm
    return tight if fuller else loose


def _laid_out(cell: Cell, empty: Pack) -> Pack:
    """Cells end to end until they are as long as the empty pack, then stretched along travel."""
    period = cell.period_mm / empty.fill
    # a length meant to be a whole number of periods must not gain one by rounding
    copies = max(1.0, math.ceil(empty.length_mm / period - CONTACT_TOL_REL))
    check_count(copies * len(cell.centres_mm))
    starts = np.arange(int(copies)) * period
    x = (starts[:, None] + cell.centres_mm[:, 0] / empty.fill).ravel()
    length = float(copies * period)
    x = np.where(x >= length, x - length, x)
    centres = np.column_stack((x, np.tile(cell.centres_mm[:, 1], int(copies))))
    return replace(
        empty,
        centres_mm=_read_only(centres),
        length_mm=length,
        state=cell.state,
        lanes=cell.lanes,
        pack_width_mm=cell.pack_width_mm,
        repeats=int(copies),
    )


def _read_only(centres_mm: Floats) -> Floats:
    centres_mm.flags.writeable = False
    return centres_mm
