"""In what pattern cans come onto the mat, and with what diameters."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from packsim.answers import stage_pack, stage_packs
from packsim.arrays import Floats, Places
from packsim.can import Can
from packsim.line import Mat, Stage
from packsim.pack.state import Pack, pack_between

_LEAST_DIAMETERS = 3.0
"""A stretch fed at once is at least this long; shorter ones only cost more neighbour lists."""


@dataclass(frozen=True, slots=True, eq=False)
class Infeed:
    """One stretch of pack, fed again and again.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (p,)
        Can centres x + iy: x from the stretch's upstream end, y from the mat's left edge [mm].
    length_mm : float
        Length of the stretch along travel [mm].
    radius_mm, radius_tol_mm : float
        Nominal can radius and its plus/minus tolerance [mm].
    pack_width_mm : float
        Width the fed lanes need touching [mm]; guides closer than that can jam them.
    reason : str
        Why nothing can be fed, or empty.
    odd_share, odd_by_mm : float
        Share of dented or short cans, and by how much narrower those are met [-], [mm].
    """

    place_mm: Places
    length_mm: float
    radius_mm: float
    radius_tol_mm: float = 0.0
    pack_width_mm: float = 0.0
    reason: str = ""
    odd_share: float = 0.0
    odd_by_mm: float = 0.0

    def __len__(self) -> int:
        return int(self.place_mm.shape[0])

    def radii_mm(self, count: int, rng: np.random.Generator) -> Floats:
        """Draw radii, even over the tolerance [mm].

        Parameters
        ----------
        count : int
            How many.
        rng : Generator
            Randomness; untouched when the tolerance is 0 and no can is odd.

        Returns
        -------
        ndarray, shape (count,)
            An even spread is the widest that respects the tolerance; what cans really do inside it
            is not known here.
        """
        radius = np.full(count, self.radius_mm)
        if self.radius_tol_mm > 0.0:
            radius += rng.uniform(-self.radius_tol_mm, self.radius_tol_mm, count)
        if self.odd_share > 0.0:
            radius -= self.odd_by_mm / 2.0 * (rng.random(count) < self.odd_share)
        return radius


def infeed_of(
    stage: Stage, can: Can, left_mm: float, right_mm: float, mat: Mat | None = None
) -> Infeed:
    """Return how a stage's pack is fed between two faces.

    Parameters
    ----------
    stage : Stage
        The first stage, for the lanes it is judged by and how full they are.
    can : Can
        The can size.
    left_mm, right_mm : float
        Guide faces at the line's upstream end, from the mat's left edge [mm].
    mat : Mat, optional
        Where the pack enters, and its odd cans; in the middle and none by default.

    Returns
    -------
    Infeed
        Without cans, but with a reason, where the pack does not fit.
    """
    radius, tolerance = can.diameter_mm / 2.0, can.diameter_tol_mm / 2.0
    pack = _fed(stage, can, right_mm - left_mm)
    centres = pack.centres_mm
    y = centres[:, 1]
    if y.size:  # laid in the middle so far
        enters = 0.5 if mat is None else mat.pack_enters
        y = y + (enters - 0.5) * (right_mm - left_mm - np.ptp(y) - can.diameter_mm)
    place = centres[:, 0] + 1j * (y + left_mm)
    room = {"length_mm": pack.length_mm, "radius_mm": radius, "radius_tol_mm": tolerance}
    if mat is not None:
        room |= {"odd_share": mat.odd_share, "odd_by_mm": min(mat.odd_by_mm, can.diameter_mm / 2.0)}
    return Infeed(place, **room, pack_width_mm=pack.pack_width_mm, reason=pack.reason)


def infeed_as_seen(infeed: Infeed, pack: Pack, left_mm: float, right_mm: float) -> Infeed:
    """Return an infeed that feeds the cans of a pack as they stand, in the middle of the guides.

    Parameters
    ----------
    infeed : Infeed
        What is fed otherwise, for the diameters.
    pack : Pack
        One stretch that repeats.
    left_mm, right_mm : float
        Guide faces at the line's upstream end, from the mat's left edge [mm].

    Returns
    -------
    Infeed
        The middle of the pack's own guides is that of the line's.
    """
    x, y = pack.centres_mm.T
    shift = (left_mm + right_mm - pack.clear_width_mm) / 2.0
    return replace(
        infeed,
        place_mm=x + 1j * (y + shift),
        length_mm=pack.length_mm,
        pack_width_mm=pack.pack_width_mm,
        reason="",
    )


def _fed(stage: Stage, can: Can, room_mm: float) -> Pack:
    """Lanes the stage is judged by, between faces bowed and grown; stretched if those are closer.

    Without that a frame that stays a hair behind its cans would drop a lane the answers have.
    """
    judged, length_mm = stage_packs(stage, can).judged, _LEAST_DIAMETERS * can.diameter_mm
    lay = partial(pack_between, room_mm, can.diameter_mm, stage.layout, length_mm)
    if room_mm >= judged.pack_width_mm:
        return lay(judged.fill, state="slack", lanes=judged.lanes)
    if stage.layout == "lengthwise":
        stretched = lay(1.0, state="strained")
        if stretched.fits and stretched.lanes == judged.lanes:
            share = judged.carried_per_metre / stretched.cans_per_metre
            return lay(min(1.0, share), state="strained")
    return stage_pack(stage, can, room_mm, length_mm)
