"""How the can lines stand to the nozzles they have, and what each lane gets of the sprays."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.errors import Assumption
from packsim.headers.arrangement import Arrangement, arrange_all, rests_on
from packsim.headers.what_if import WhatIf, what_if
from packsim.headers.wish import Faults
from packsim.line import MEDIA, Header, Mat, Scenario, medium_of
from packsim.nozzles.lane_lines import Misalignment, misalignment
from packsim.spray.dose import Dose, dose, flow_of_L_per_min
from packsim.spray.exposure import REACH_GAP_MM, exposed_share
from packsim.spray.impact import IMPACT_ASSUMED, HeaderWork, header_work
from packsim.spray.landing import Landing, landing
from packsim.spray.pipe import LEAST_SHARE
from packsim.spray.spray_load import SPRAY_ASSUMED
from packsim.spray.uniformity import (
    HIGH_SHARE,
    LOW_SHARE,
    Coverage,
    Uniformity,
    coverage,
    uniformity,
)

CHECK_ASSUMED: Final = (
    *SPRAY_ASSUMED,
    Assumption(
        "spray.fall",
        "what comes down between cans runs down the nearest lane's walls",
        "no splash, no carry-over from can to can",
    ),
    Assumption(
        "exposure.reach_gap",
        f"{REACH_GAP_MM:g} mm",
        "narrowest gap between two walls that is washed; no source",
    ),
    Assumption(
        "uniformity.thresholds",
        f"{LOW_SHARE:g} and {HIGH_SHARE:g} of the mean",
        "lanes beyond them are named; a judgement, not a standard",
    ),
    *IMPACT_ASSUMED,
)
"""What every check of headers rests on, whatever the scenario gives."""


@dataclass(frozen=True, slots=True, eq=False)
class SideCheck:
    """The headers on one side of the mat, for one size in one stage.

    Parameters
    ----------
    side : {"above", "below"}
        The side.
    headers : tuple of Header
        Its headers.
    nozzles_mm : ndarray
        Distinct nozzle places of all of them, from the mat's left edge [mm].
    now : Misalignment
        Can lines against those nozzles as the guides are set.
    coverage : tuple of Coverage
        How neighbouring sprays meet, for each header the can passes.
    work : tuple of HeaderWork
        What each of those takes and does.
    """

    side: str
    headers: tuple[Header, ...]
    nozzles_mm: Floats
    now: Misalignment
    coverage: tuple[Coverage, ...]
    work: tuple[HeaderWork, ...]

    @property
    def narrowest(self) -> Coverage | None:
        """The header whose sprays overlap least; None when the cans pass none of them."""
        return min(self.coverage, key=lambda c: c.overlap_mm, default=None)


@dataclass(frozen=True, slots=True, eq=False)
class PlaceDose:
    """What one place of the cans gets of one medium in a stage.

    Parameters
    ----------
    medium : {"liquid", "gas"}
        What is sprayed; the two are never added.
    place : {"inside", "top", "outside"}
        Where it lands.
    by_lane_mL : ndarray, shape (lanes,)
        Dose of each lane, from the left guide [mL per can].
    even : Uniformity
        Evenness over the lanes, each weighted with its cans; `Uniformity.mean` in mL per can.
    landing : Landing
        Where and how hard it lands, and for how long.
    """

    medium: str
    place: str
    by_lane_mL: Floats
    even: Uniformity
    landing: Landing


@dataclass(frozen=True, slots=True, eq=False)
class HeaderCheck:
    """One size under the headers of one stage.

    Parameters
    ----------
    at : Arrangement
        The pack and where it stands.
    sides : tuple of SideCheck
        Sides that have a header; none where the pack does not fit.
    doses : tuple of PlaceDose
        What the cans get, for every medium and place that has a header.
    exposed_share : ndarray, shape (cans,)
        Share of each can's circumference a spray down the voids can wash [-].
    assumed : tuple of Assumption
        Everything here rests on these.
    what_if : tuple of WhatIf
        What becomes of it where something is not as drawn, as far as that was asked.
    """

    at: Arrangement
    sides: tuple[SideCheck, ...]
    doses: tuple[PlaceDose, ...]
    exposed_share: Floats
    assumed: tuple[Assumption, ...]
    what_if: tuple[WhatIf, ...] = ()

    @property
    def liquid_L_per_min(self) -> float | None:
        """Flow of all headers the cans pass that spray a liquid, None where there is none."""
        return flow_of_L_per_min(self.at.clear, "liquid")

    @property
    def gas_L_per_min(self) -> float | None:
        """Flow of all headers the cans pass that spray a gas, None where there is none."""
        return flow_of_L_per_min(self.at.clear, "gas")

    def side(self, name: str) -> SideCheck | None:
        """Return one side, None where it has no header."""
        return next((s for s in self.sides if s.side == name), None)


def check_headers(
    scenario: Scenario,
    stages: Sequence[str] = (),
    sizes: Sequence[str] = (),
    faults: Faults | None = None,
    least_share: float = LEAST_SHARE,
) -> tuple[HeaderCheck, ...]:
    """Check every chosen size against the headers of every chosen stage, as the guides are set.

    Parameters
    ----------
    scenario : Scenario
        The case.
    stages, sizes : sequence of str
        Names; all when empty. Stages without a header are left out.
    faults : Faults, optional
        What may not be as drawn, to be looked at too.
    least_share : float
        Share of the nozzle with most that the other end of a header must get, for its pipe [-].

    Returns
    -------
    tuple of HeaderCheck
        All stages of the first size, then of the next.

    Raises
    ------
    InputError
        If a name is unknown, or no chosen stage has a header.
    """
    cases = arrange_all(scenario, stages, sizes)
    return tuple(_check(scenario, at, faults, least_share) for at in cases)


def _check(
    scenario: Scenario, at: Arrangement, faults: Faults | None, least_share: float
) -> HeaderCheck:
    load = faults is not None
    assumed = (*rests_on(scenario, at, load=load), *CHECK_ASSUMED)
    if not at.pack.fits:
        return HeaderCheck(at, (), (), np.empty(0), assumed)
    return HeaderCheck(
        at=at,
        sides=tuple(_side(scenario.mat, at, side, least_share) for side in at.sides),
        doses=_doses(scenario, at),
        exposed_share=exposed_share(at.pack),
        assumed=assumed,
        what_if=() if faults is None else what_if(scenario, at, faults),
    )


def _side(mat: Mat, at: Arrangement, side: str, least_share: float) -> SideCheck:
    nozzles = at.nozzles_mm(side)
    clear = [h for h in at.clear if h.side == side]
    return SideCheck(
        side=side,
        headers=at.headers(side),
        nozzles_mm=nozzles,
        now=misalignment(at.lines_mm, nozzles, weights=at.shares),
        coverage=tuple(coverage(h, at.stance.height_mm) for h in clear),
        work=tuple(header_work(h, at.can, at.lines_mm, mat, least_share) for h in clear),
    )


def _doses(scenario: Scenario, at: Arrangement) -> tuple[PlaceDose, ...]:
    found: list[PlaceDose] = []
    for medium in MEDIA:
        headers = [h for h in at.clear if medium_of(h) == medium]
        if not headers:
            continue
        got = dose(at.lines_mm, at.cans_per_mm, at.stance, headers, scenario.mat)
        places = _places(got, {h.side for h in headers})
        for place, doses in places:
            even = uniformity(doses, at.shares)
            mine = [h for h in headers if (h.side == "below") == (place == "inside")]
            lands = landing(place, mine, at.can, at.lines_mm, at.shares, scenario.mat)
            found.append(PlaceDose(medium, place, doses, even, lands))
    return tuple(found)


def _places(got: Dose, sides: set[str]) -> list[tuple[str, Floats]]:
    """Doses of the places that the sides with a header reach."""
    found = [("inside", got.inside_mL)] if "below" in sides else []
    if "above" in sides:
        found += [("top", got.top_mL), ("outside", got.outside_mL)]
    return found
