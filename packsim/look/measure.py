"""What a photograph says of the pack: every answer with its error, and what it could not see."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packsim.answers.answer import OPEN_GAP
from packsim.arrays import Floats
from packsim.look.as_pack import pack_of
from packsim.look.counts import (
    DiameterSpread,
    cans_missing,
    cans_per_metre,
    diameter_spread,
    fill_of,
    lane_share,
)
from packsim.look.gaps import LEAST_ROWS, RowGaps, row_gaps
from packsim.look.known import TWO_SIDED, Known
from packsim.look.rows import SeenRows, rows_of
from packsim.look.seen import SeenPack
from packsim.look.widths import (
    clear_width,
    guides_at_rims,
    least_width,
    sees_whole_width,
    share_left,
    slack_of,
)
from packsim.pack.state import Pack
from packsim.pack.voids import Voids, find_voids

LEVEL: Final = Known(0.0, 0.0)
"""Guides whose edge that is seen is as high as the rims."""

_MOST_PLAIN: Final = 2.0 / 3.0
"""Slack of which more than this share lies in one place lies there."""

_ONE_LATTICE: Final = 0.9
"""Where ways between cans are less alike than this, rows run several ways."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Looked:
    """What one photograph says of the pack; errors are 95 %, as behind a ± in a scenario.

    Parameters
    ----------
    seen : SeenPack
        Cans, guides and field, the guides at the height of the rims.
    rows : SeenRows
        Rows and lanes of its cans.
    guides_below_mm : Known
        How far the edge that is seen of a guide was taken to lie below the rims [mm].
    lanes : int
        Lanes seen.
    whole_width : bool
        Whether both sides of the pack are in the picture, so that no lane is left out.
    standing, leaning, down : int
        Cans seen by state.
    missing_mm : ndarray, shape (m, 2)
        Where a lane has room for a can and none stands [mm].
    cans_per_metre : Known or None
        Cans on a metre of mat; None where not all lanes are seen [1/m].
    fill : Known or None
        Share of the perfect pack's cans that is there, of the pack that goes on beyond the picture
        [-].
    clear_width_mm : Known or None
        Guide face to guide face; None where one is not seen [mm].
    least_width_mm : Known
        Outermost rim to outermost rim: the clear width is no less [mm].
    slack_mm : Known or None
        Clear width less pack width; better known than the width, as both grow with the diameter
        that was given [mm].
    enters : Known or None
        Share of the slack at the guides that lies to the left of the pack [-].
    gaps : RowGaps or None
        The gaps of whole rows.
    spread : DiameterSpread or None
        Of the diameters; None where rims were not measured.
    pack : Pack or None
        A stretch of it as any other pack.
    voids : Voids or None
        The voids of that.
    not_seen : tuple of str
        What could not be seen or told, a sentence each.
    """

    seen: SeenPack
    rows: SeenRows
    guides_below_mm: Known
    lanes: int
    whole_width: bool
    standing: int
    leaning: int
    down: int
    missing_mm: Floats
    cans_per_metre: Known | None
    fill: Known | None
    clear_width_mm: Known | None
    least_width_mm: Known
    slack_mm: Known | None
    enters: Known | None
    gaps: RowGaps | None
    spread: DiameterSpread | None
    pack: Pack | None
    voids: Voids | None
    not_seen: tuple[str, ...]

    @property
    def missing(self) -> int:
        """Cans for which there is room in their lane where none stands."""
        return len(self.missing_mm)

    @property
    def voids_by_place(self) -> dict[str, int]:
        """Open places of that stretch by what they are; empty where there is none."""
        return {} if self.voids is None else self.voids.by_place

    @property
    def largest_void_mm(self) -> float | None:
        """Diameter of the largest circle there that is free of cans [mm]."""
        return None if self.voids is None else self.voids.largest_circle_mm

    @property
    def layout(self) -> str:
        """How the rows run."""
        return self.rows.layout

    @property
    def slack_stands(self) -> str:
        """Where most of the slack stands, or nowhere in particular; empty where it is not seen."""
        if self.gaps is None:
            return ""
        parts = {
            "left": self.gaps.left_mm.value,
            "right": self.gaps.right_mm.value,
            "between cans": self.gaps.inside_mm.value,
        }
        whole = self.gaps.row_slack_mm
        if whole.value <= whole.within:
            return "no slack to speak of"
        place = max(parts, key=lambda name: parts[name])
        return place if parts[place] > _MOST_PLAIN * whole.value else "several places"


def measure_pack(
    seen: SeenPack,
    diameter_within_mm: float = 0.0,
    guides_below_mm: Known = LEVEL,
    camera_mm: Known | None = None,
) -> Looked:
    """Answer from the cans of a photograph how the pack stands.

    Parameters
    ----------
    seen : SeenPack
        The cans.
    diameter_within_mm : float
        How well the mean diameter of the bodies is known, half of a 95 % interval: all lengths
        follow it [mm].
    guides_below_mm : Known
        How far the edge that is seen of a guide lies below the rims [mm].
    camera_mm : Known, optional
        How high above them the camera was; the usual camera's height if left out [mm].

    Returns
    -------
    Looked
        Every answer with its error.

    Raises
    ------
    InputError
        If the cans are no pack.
    """
    edges = [float(one) for one in seen.guide_errors_mm]
    seen, shared = guides_at_rims(seen, guides_below_mm, camera_mm)
    faces = (*edges, shared)
    rows = rows_of(seen)
    own = diameter_within_mm / TWO_SIDED / seen.diameter_mm
    width = clear_width(seen, faces, own)
    least = least_width(seen, rows, own)
    no_guide = width is not None and least.value - least.within > width.value + width.within
    if no_guide:  # cans are hard: something else was taken for a guide, nobody knows which
        seen, width = replace(seen, guides_mm=np.full(2, np.nan)), None
    gaps, pack = row_gaps(seen, rows, faces), pack_of(seen, rows)
    share, whole = lane_share(seen, rows), sees_whole_width(seen, rows)
    spread = diameter_spread(seen)
    return Looked(
        seen=seen,
        rows=rows,
        guides_below_mm=guides_below_mm,
        lanes=rows.lanes,
        whole_width=whole,
        standing=int(seen.are("standing").sum()),
        leaning=int(seen.are("leaning").sum()),
        down=int(seen.are("down").sum()),
        missing_mm=cans_missing(seen, rows),
        cans_per_metre=None
        if share is None or not whole
        else cans_per_metre(seen, rows, share, own),
        fill=None if share is None else fill_of(seen, rows, share, width),
        clear_width_mm=width,
        least_width_mm=least,
        slack_mm=slack_of(seen, rows, width, faces, own),
        enters=share_left(gaps),
        gaps=gaps,
        spread=spread,
        pack=pack,
        voids=None if pack is None else find_voids(pack, OPEN_GAP * pack.diameter_mm),
        not_seen=(
            *seen.not_seen,
            *["a guide: where one was taken to be, the cans do not fit in"] * no_guide,
            *_not_told(seen, rows, gaps, spread, guides_below_mm, camera_mm),
        ),
    )


def _not_told(
    seen: SeenPack,
    rows: SeenRows,
    gaps: RowGaps | None,
    spread: DiameterSpread | None,
    below: Known,
    camera_mm: Known | None,
) -> list[str]:
    """Return what the cans do not tell, a sentence each."""
    said = []
    if rows.order < _ONE_LATTICE or rows.torn > 1.0 - _ONE_LATTICE:
        said.append("the rows run several ways: lanes are counted along the largest part")
    apart = int((rows.lane < 0).sum() - seen.are("down").sum())
    if apart:
        said.append(f"{apart} cans stand apart from the pack and are in no lane")
    if np.isnan(seen.guides_mm).any():
        said.append("without both guides there is no slack, and no can is judged on its line")
    elif gaps is None:
        said.append(f"fewer than {LEAST_ROWS} rows are whole from guide to guide: no gaps")
    parallax = float(np.abs(np.diff(seen.guide_parallax)).max(initial=0.0))
    if parallax > 0.0 and below == LEVEL:
        said.append(
            "how far below the rims the guides' edges lie: taken as level; each mm they lie "
            f"lower changes the clear width by {parallax:.2f} mm"
        )
    elif parallax > 0.0 and camera_mm is None:
        said.append("how high the camera was: taken as a phone's, within 30 %")
    if spread is None:
        said.append("the diameters of the rims")
    return said
