"""From a photograph of the mat to can centres in millimetres."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.errors import between
from packsim.look.known import TWO_SIDED
from packsim.look.photo.contacts import Touch, touching
from packsim.look.photo.edges import SMOOTH_PX
from packsim.look.photo.guides import Guide, guide_beside
from packsim.look.photo.lying import Lying, lying_cans
from packsim.look.photo.plane import plane_of
from packsim.look.photo.rectify import view_of
from packsim.look.photo.sizes import against_cans, two_sizes
from packsim.look.photo.states import Told, leaning_cans, told_by
from packsim.look.photo.travel import travel_way
from packsim.look.photograph import read_photograph
from packsim.look.seen import STATES, SeenPack, View

_EDGE_PX, _EDGE_MM = 0.8, 0.4
"""Error of the edge of a round wire or a rail, which is shaded up to it: as rendered."""

_SHIFTED: Final = 1.7
"""Light from one side shifts a rim and makes it larger by that much more than it spoils its shape,
which tells the errors of centre and diameter: as rendered, `python -m tests.look`."""

_BEYOND_GUIDE, _FEW = 0.05, 0.2
"""What reaches so many diameters beyond a guide, where of the cans beside it fewer than a fifth do,
is none."""

_FEW_TOUCH: Final = 0.08

_SOME_LIE: Final = (
    "Of cans that lie one in seven is missed and a few told are none, of those that lean half are "
    "missed: look yourself."
)
_AS_BRIGHT: Final = "Cans that lie cannot be told from the mat: both are equally bright."

_TWO_SIZES: Final = (
    "Cans of two sizes seem to be in the picture: what is measured holds for neither. Take a "
    "picture of one size."
)

Lengths = Sequence[tuple[tuple[float, float], tuple[float, float], float]]
"""Known lengths level with the rims: two points of the picture [px] and what lies between [mm]."""


def look_at(
    photo: str | Path, diameter_mm: float, *, travel: str | None = None, lengths: Lengths = ()
) -> SeenPack:
    """Read a photograph from above.

    Parameters
    ----------
    photo : str or Path
        A JPEG, PNG or TIFF file.
    diameter_mm : float
        Diameter of the can bodies in it [mm].
    travel : {"right", "left", "up", "down"}, optional
        Where travel goes to in the picture; whichever of right and up its line is nearer to.
    lengths : sequence of tuple
        Known lengths level with the rims: two points [px] and the length [mm]. Without any the
        scale is that of cans that touch.

    Returns
    -------
    SeenPack
        What is seen, and sentences of what is not.

    Raises
    ------
    InputError
        If the file is no such picture, or no cans are found in it.
    """
    between("diameter_mm", diameter_mm, 10.0, 500.0, "mm")
    return seen_in(read_photograph(photo), diameter_mm, str(photo), travel=travel, lengths=lengths)


def seen_in(
    grey: Floats,
    diameter_mm: float,
    photo: str = "picture",
    *,
    travel: str | None = None,
    lengths: Lengths = (),
) -> SeenPack:
    """Read a picture that is in memory, shape (h, w), brightness 0 to 1: see `look_at`."""
    import cv2

    grey = np.ascontiguousarray(grey, dtype=np.float32)
    smooth = cv2.GaussianBlur(grey, (0, 0), SMOOTH_PX)
    plane = plane_of(grey, smooth, diameter_mm / 2.0, photo)
    where = plane.view, plane.found_mm, diameter_mm / 2.0
    told = told_by(plane.rounds, leaning_cans(smooth, *where, plane.sign))
    size = grey.shape[1], grey.shape[0]
    centres_px = plane.view.to_picture(plane.rounds.centres_mm)
    known = [(np.array([a, b], dtype=np.float64), mm) for a, b, mm in lengths]
    how = diameter_mm, plane.rims_error, float(np.median(told.errors_mm))
    touch = touching(plane.outlines, size, centres_px, how)
    if known:
        said, off = against_cans(known, touch, size, diameter_mm, photo)
        touch = touching(plane.outlines, size, centres_px, how, known)
        touch = touch._replace(error=max(touch.error, off / TWO_SIDED), said=said)
    return _laid_out(smooth, centres_px, told, touch, (photo, diameter_mm, travel))


def _laid_out(
    smooth: Floats,
    centres_px: Floats,
    told: Told,
    touch: Touch,
    asked: tuple[str, float, str | None],
) -> SeenPack:
    """Turn, shift and scale the plane, and look for guides in it."""
    photo, diameter, travel = asked
    size = smooth.shape[1], smooth.shape[0]
    middle = view_of(touch.numbers, size)
    turned = travel_way(middle, middle.to_mm(centres_px), diameter, touch.lattice_rad, travel)
    view, guides = _along_guides(smooth, middle.moved(turned[0]), centres_px, diameter / 2.0)
    across = view.to_mm(centres_px)[:, 1]
    left = guides[0].at_mm if guides[0] else float(across.min() - diameter / 2.0)
    view = view.moved(origin_mm=(float(_field(view, size)[:, 0].min()), left))
    at, edge = np.array([(g.at_mm - left, g.error_mm) if g else (math.nan,) * 2 for g in guides]).T
    travel_from = "guides" if any(guides) else "sides" if turned[1] else "picture"
    centres = view.to_mm(centres_px)
    inside = _inside(centres[:, 1], diameter, at)
    centres, told = centres[inside], told.those(inside)
    lying = lying_cans(smooth, view, centres, diameter, at)
    if lying is not None:
        told = told._replace(leaning=told.leaning & ~lying.beside).those(~lying.covered)
        centres = centres[~lying.covered]
    px_per_mm = float(np.mean(np.sqrt(np.abs(np.linalg.det(view.px_of_a_mm(centres))))))
    eye = view.eye_mm()
    return SeenPack(
        photo=photo,
        picture_px=size,
        diameter_mm=diameter,
        **_cans(centres, told, lying, (diameter, touch.grown)),
        guides_mm=at,
        guide_errors_mm=np.hypot(edge, max(_EDGE_PX / px_per_mm, _EDGE_MM)),
        guide_parallax=(at - eye[1]) / eye[2],
        field_mm=_field(view, size),
        view=view,
        px_per_mm=px_per_mm,
        scale_error=touch.error,
        travel_from=travel_from,
        not_seen=(
            *([_TWO_SIZES] if two_sizes(centres, diameter + 2.0 * told.grown_mm) else []),
            *_not_seen(at, touch, travel_from),
            _AS_BRIGHT if lying is None else _SOME_LIE,
        ),
    )


def _inside(across_mm: Floats, diameter: float, guides_mm: Floats) -> Bools:
    """Return which cans stand between the guides, as far as those are seen.

    What reaches beyond one while all but a few beside it do not is seen wrong, and is no can.
    """
    inside = np.ones(len(across_mm), dtype=np.bool_)
    for side, face in zip((-1.0, 1.0), guides_mm, strict=True):
        if math.isnan(face):
            continue
        beyond = side * (across_mm - face)
        inside &= beyond <= 0.0
        out = beyond + diameter / 2.0 > _BEYOND_GUIDE * diameter
        if out.sum() < _FEW * np.sum(beyond > -diameter):
            inside &= ~out
    return inside


def _along_guides(
    smooth: Floats, view: View, centres_px: Floats, radius_mm: float
) -> tuple[View, list[Guide | None]]:
    """Return the view with x along the guides, where any is seen, and what is seen of both."""

    def guides_in(view: View) -> list[Guide | None]:
        centres = view.to_mm(centres_px)
        return [guide_beside(smooth, view, centres, radius_mm, side) for side in (-1, 1)]

    guides = guides_in(view)
    seen = [guide for guide in guides if guide is not None]
    if not seen:
        return view, guides
    sure = [guide.error_mm**-2 for guide in seen]
    lean = math.atan(float(np.average([guide.slant for guide in seen], weights=sure)))
    view = view.moved(lean)
    return view, guides_in(view)


def _cans(
    centres: Floats, told: Told, lying: Lying | None, how: tuple[float, float]
) -> dict[str, Any]:
    """Cans that stand, then those that lie: their places, errors, states and diameters."""
    diameter, grown = how
    lie, off = (np.empty((0, 2)), np.empty(0)) if lying is None else lying[:2]
    more = np.zeros(len(lie))
    own = told.grown_mm - np.median(told.grown_mm)
    return {
        "centres_mm": np.concatenate((centres, lie)),
        "errors_mm": np.concatenate((_SHIFTED * told.errors_mm, off)),
        "state": np.concatenate((told.leaning, more + STATES.index("down"))).astype(np.uint8),
        "diameters_mm": np.concatenate((diameter * grown + 2.0 * own, more + np.nan)),
        "diameter_errors_mm": np.concatenate(
            (2.0 * _SHIFTED * told.grown_errors_mm, more + np.nan)
        ),
    }


def _not_seen(guides_mm: Floats, touch: Touch, travel_from: str) -> Iterator[str]:
    """Yield what the picture leaves open, a sentence each."""
    yield from touch.said
    for side, at in zip(("left", "right"), guides_mm, strict=True):
        if np.isnan(at):
            yield f"No guide is seen on the {side}: no straight edge lies beyond the cans there."
    if travel_from == "picture":
        yield (
            "Neither guides nor straight sides of the pack are seen: travel is taken to run along "
            "the line of the pack that is nearest to it in the picture."
        )
    if not touch.share > _FEW_TOUCH:
        yield (
            "Hardly any cans touch: the scale is that of the rims alone, and long lengths may be "
            f"wrong by {200.0 * touch.error:.1f} %. A known length tells it better (--length)."
        )


def _field(view: View, size_px: tuple[int, int]) -> Floats:
    """Outline of the picture on the plane, 8 points a side."""
    w, h = size_px
    part = np.arange(8) / 8.0
    x = np.concatenate((part, np.ones(8), 1.0 - part, np.zeros(8))) * (w - 1)
    y = np.concatenate((np.zeros(8), part, np.ones(8), 1.0 - part)) * (h - 1)
    return view.to_mm(np.column_stack((x, y)))
