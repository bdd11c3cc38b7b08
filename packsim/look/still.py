"""Pictures of a camera that stands still share one view: the best of theirs serves them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packsim.look.seen import SeenPack

_MOVED_REL: Final = 0.03
"""A guide that is seen elsewhere by more than this share of a diameter: the camera moved."""


def by_one_view(seen: Sequence[SeenPack]) -> list[SeenPack] | None:
    """Return packs with all their cans in the plane of the view that is known best.

    Parameters
    ----------
    seen : sequence of SeenPack
        Pictures of one place.

    Returns
    -------
    list of SeenPack or None
        With one scale, so that what differs between them is in the cans. None where pictures are of
        several sizes, or a guide that stands elsewhere tells that the camera moved.
    """
    with_guides = [one for one in seen if np.isfinite(one.guides_mm).all()] or list(seen)
    best = min(with_guides, key=lambda one: (one.scale_error, -len(one)))
    if any(one.picture_px != best.picture_px for one in seen):
        return None
    moved = [_in_view_of(best, one) for one in seen]
    guides = np.array([one.guides_mm for one in moved])
    for side in guides.T:
        known = side[np.isfinite(side)]
        if known.size and float(np.median(np.abs(known - np.median(known)))) > (
            _MOVED_REL * best.diameter_mm
        ):
            return None
    return moved


def _in_view_of(best: SeenPack, one: SeenPack) -> SeenPack:
    """Return a pack in the plane of another one's view; guides as they are half-way along it."""
    middle = float(one.field_mm[:, 0].mean())
    ends = np.column_stack((np.full(2, middle), one.guides_mm))
    guides = best.view.to_mm(one.view.to_picture(ends))[:, 1]
    return replace(
        one,
        centres_mm=best.view.to_mm(one.view.to_picture(one.centres_mm)),
        guides_mm=guides,
        guide_parallax=np.where(np.isfinite(guides), best.guide_parallax, np.nan),
        field_mm=best.field_mm,
        view=best.view,
        px_per_mm=best.px_per_mm,
        scale_error=best.scale_error,
        travel_from=best.travel_from,
    )
