"""How far any single can of a pack could lean by itself, its neighbours standing still."""

from __future__ import annotations

import numpy as np

from packsim.can import Stance
from packsim.pack.state import Pack
from packsim.setting.lean import own_lean

__all__ = ["own_index"]


def own_index(
    pack: Pack, stance: Stance, balance_rad: float, heights_mm: tuple[float, ...]
) -> tuple[float, str]:
    """Largest own lean in a pack over the balance angle, and where that can stands.

    Parameters
    ----------
    pack : Pack
        The pack as laid, its slack shared between both guides.
    stance : Stance
        The can in this stage.
    balance_rad : float
        Effective balance angle [rad].
    heights_mm : tuple of float
        Heights of the guide wires [mm].

    Returns
    -------
    index : float
        Largest own lean over balance angle, infinite where nothing stops a can [-]; 0 for a pack
        that does not fit.
    place : {"edge", "centre"}
        ``edge`` when the can stands within the first can width of a guide.
    """
    if not pack.fits:
        return 0.0, "edge"
    envelope = own_lean(
        pack.centres_mm,
        stance,
        period_mm=pack.length_mm,
        left_mm=0.0,
        right_mm=pack.clear_width_mm,
        wire_heights_mm=heights_mm,
        effective_balance_rad=balance_rad,
    )
    worst = int(np.argmax(envelope.index))
    y = float(pack.centres_mm[worst, 1])
    at_edge = min(y, pack.clear_width_mm - y) < pack.diameter_mm
    return float(envelope.index[worst]), "edge" if at_edge else "centre"
