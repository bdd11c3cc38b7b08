"""How far each can can lean, and what each header does to the worst one."""

import math
from dataclasses import dataclass

import numpy as np

from packsim.answers import (
    Answer,
    clear_headers,
    gathered_leans,
    own_leans,
    sprayed_lines_mm,
    stage_sprays,
    towards_guides,
    worst_can,
)
from packsim.answers.tips import towards
from packsim.arrays import Floats
from packsim.line import Scenario, Stage
from packsim.spray.leaning import tipping_moment_N_mm
from packsim.spray.worst_moments import DIRECTIONS_RAD, worst_place
from packsim.tipping.gathered_slack import GatheredLean
from packsim.tipping.lean import LeanEnvelope


@dataclass(frozen=True, slots=True, eq=False)
class CanLeans:
    """Leans of every can of the pack as laid.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres, along travel and from the left guide [mm].
    own : LeanEnvelope
        Neighbours standing still.
    gathered : GatheredLean
        All slack of a can's chain gathered beside it.
    """

    centres_mm: Floats
    own: LeanEnvelope
    gathered: GatheredLean


def can_leans(answer: Answer) -> CanLeans | None:
    """Return the leans of every can of an answer's pack; None where nothing fits."""
    if not answer.pack.fits:
        return None
    pack, stance, tips = answer.pack, answer.stance, answer.tipping
    own = own_leans(pack, stance, tips.weakest_rad, answer.wire_heights_mm)
    gathered = gathered_leans(pack, stance, tips.balance_angle_rad, answer.wire_heights_mm)
    return CanLeans(pack.centres_mm, own, gathered)


@dataclass(frozen=True, slots=True)
class HeaderMoment:
    """What one header adds.

    Parameters
    ----------
    side : {"above", "below"}
        Where it sprays from.
    station_mm : float
        Its place along the stage [mm].
    moment_N_mm : float
        Moment about the edge the can leans over, below 0 where it rights the can [N·mm].
    """

    side: str
    station_mm: float
    moment_N_mm: float


@dataclass(frozen=True, slots=True)
class SprayTerms:
    """Load on the can with the least balance angle towards a guide, leaning just so far.

    Parameters
    ----------
    lane : int
        Its line, counted from the left guide from 1.
    across_mm : float
        That line from the mat's left edge [mm].
    along_mm : float
        Where along the stage [mm].
    direction_rad : float
        Bearing of the lean, from travel towards the right guide [rad].
    headers : tuple of HeaderMoment
        Headers that reach it there; together they balance what the weight rights.
    weight_moment_N_mm : float
        Moment with which the weight rights the can at that lean [N·mm].
    lost_rad : float
        Balance angle of the same can without sprays, less the one left [rad].
    best_shift_mm : float or None
        Best shift of the pack for the worst lane, None without one [mm].
    hold_margin, hold_margin_shifted : float
        Least hold margin of any lane anywhere, as it rides and after that shift [-].
    balance_angle_shifted_rad : float
        Least balance angle towards a guide after that shift [rad].
    """

    lane: int
    across_mm: float
    along_mm: float
    direction_rad: float
    headers: tuple[HeaderMoment, ...]
    weight_moment_N_mm: float
    lost_rad: float
    best_shift_mm: float | None
    hold_margin: float
    hold_margin_shifted: float
    balance_angle_shifted_rad: float

    @property
    def towards(self) -> str:
        """The bearing in words."""
        return towards(self.direction_rad)


def spray_terms(scenario: Scenario, stage: Stage, answer: Answer) -> SprayTerms | None:
    """Take the spray load of an answer apart, header by header.

    Parameters
    ----------
    scenario, stage, answer : Scenario, Stage, Answer
        The case, for its mat; the stage, and its answers.

    Returns
    -------
    SprayTerms or None
        None where nothing sprays.
    """
    if answer.spray is None or answer.lightest is None:
        return None
    stance, balance = answer.stance, answer.tipping.balance_angle_rad
    lines, open_part = sprayed_lines_mm(stage, answer.pack), scenario.mat.open_fraction
    headers = clear_headers(stage, stance.height_mm)
    towards_guide = DIRECTIONS_RAD[towards_guides(stage.layout)]
    lane, along, bearing = worst_place(lines, stance, headers, open_part, towards_guide)
    place, lean = (along, lines[lane], bearing), np.array([balance])
    moments = [
        HeaderMoment(h.side, h.station_mm, float(moment))
        for h in headers
        if (moment := tipping_moment_N_mm([h], stance, open_part, *place, lean)[0])
    ]
    shift = None if answer.alignment is None else answer.alignment.best.shift_for_worst_mm
    can, margin, left = scenario.size(answer.size), answer.lightest, balance
    if shift:
        moved = stage, can, open_part, lines + shift
        left = worst_can(*moved).balance_rad
        margin = stage_sprays(*moved, (answer.water.low,))[0] or margin
    own, arm = stance.balance_angle_rad, stance.weight_N * stance.arm_mm
    return SprayTerms(
        lane=lane + 1,
        across_mm=float(lines[lane]),
        along_mm=along,
        direction_rad=bearing,
        headers=tuple(moments),
        weight_moment_N_mm=arm * math.sin(own - balance),
        lost_rad=own - balance,
        best_shift_mm=shift,
        hold_margin=float(answer.lightest.hold_margin.min()),
        hold_margin_shifted=float(margin.hold_margin.min()),
        balance_angle_shifted_rad=left,
    )
