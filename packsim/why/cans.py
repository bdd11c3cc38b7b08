"""How far each can can lean, and what each header does to the worst one."""

import math
from dataclasses import dataclass

import numpy as np

from packsim.answers import Answer, clear_headers, gathered_leans, own_leans
from packsim.arrays import Floats
from packsim.can import Stance
from packsim.line import Header, Scenario, Stage
from packsim.nozzles.lane_lines import lane_lines_mm
from packsim.spray.jets import footprint_of
from packsim.spray.spray_forces import header_forces, spray_forces, spray_places_mm
from packsim.spray.spray_load import balance_under_load_rad, load_on
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
    load = (answer.pack, answer.stance, answer.tipping.balance_angle_rad, answer.wire_heights_mm)
    return CanLeans(answer.pack.centres_mm, own_leans(*load), gathered_leans(*load))


@dataclass(frozen=True, slots=True)
class HeaderPush:
    """What one header adds.

    Parameters
    ----------
    side : {"above", "below"}
        Where it sprays from.
    station_mm : float
        Its place along the stage [mm].
    push_N : float
        Push on the can, down from above, up from below [N].
    lateral_N, moment_N_mm : tuple of float
        Sideways push and turning moment about the foot, along travel and across [N], [N·mm].
    """

    side: str
    station_mm: float
    push_N: float
    lateral_N: tuple[float, float]
    moment_N_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SprayTerms:
    """Load on the can with the least balance angle, where along the stage it has it.

    Parameters
    ----------
    lane : int
        Its line, counted from the left guide from 1.
    across_mm : float
        That line from the mat's left edge [mm].
    along_mm : float
        Where along the stage [mm].
    headers : tuple of HeaderPush
        Headers that reach it there.
    weight_N, normal_N : float
        Weight, and what is left on the mat [N].
    moment_N_mm : float
        Overturning moment of all headers together, in its worst direction [N·mm].
    lost_rad, balance_angle_rad : float
        Lean the moment takes, asin(|B| / (N ρ)), and the balance angle left [rad].
    hold_margin_of_lane : float
        (N R − |B|) / (m g R) there [-].
    best_shift_mm : float or None
        Best shift of the pack for the worst lane, None without one [mm].
    hold_margin, hold_margin_shifted : float
        Least hold margin of any lane anywhere, as it rides and after that shift [-].
    balance_angle_shifted_rad : float
        Least balance angle after that shift [rad].
    """

    lane: int
    across_mm: float
    along_mm: float
    headers: tuple[HeaderPush, ...]
    weight_N: float
    normal_N: float
    moment_N_mm: float
    lost_rad: float
    balance_angle_rad: float
    hold_margin_of_lane: float
    best_shift_mm: float | None
    hold_margin: float
    hold_margin_shifted: float
    balance_angle_shifted_rad: float


def spray_terms(scenario: Scenario, stage: Stage, answer: Answer) -> SprayTerms | None:
    """Take the spray load of an answer apart, header by header.

    Parameters
    ----------
    scenario, stage, answer : Scenario, Stage, Answer
        The case, for its mat; the stage, and its answers.

    Returns
    -------
    SprayTerms or None
        None where nothing sprays. Pushes of the headers add up to the whole load.
    """
    if answer.spray is None:
        return None
    stance, guides = answer.stance, stage.guides
    lines = lane_lines_mm(answer.pack, guides.centre_mm - guides.narrowest_mm / 2.0)
    lane = int(np.argmin(answer.spray.balance_rad))
    headers, open_part = clear_headers(stage, stance.height_mm), scenario.mat.open_fraction
    along, pushes = _worst_moment(float(lines[lane]), headers, stance, open_part)
    turn = [math.fsum(push.moment_N_mm[axis] for push in pushes) for axis in (0, 1)]
    net = math.fsum(push.push_N if push.side == "above" else -push.push_N for push in pushes)
    normal, moment = stance.weight_N + net, math.hypot(*turn)
    balance = float(balance_under_load_rad(stance, normal, moment))
    shift = None if answer.alignment is None else answer.alignment.best.shift_for_worst_mm
    moved, lighter = answer.spray, answer.lightest or answer.spray
    if shift:
        forces = spray_forces(lines + shift, stance, headers, open_part)
        light = scenario.size(answer.size).stance(answer.water.low)
        moved, lighter = load_on(stance, forces), load_on(light, forces)
    return SprayTerms(
        lane=lane + 1,
        across_mm=float(lines[lane]),
        along_mm=along,
        headers=pushes,
        weight_N=stance.weight_N,
        normal_N=normal,
        moment_N_mm=moment,
        lost_rad=stance.balance_angle_rad - balance,
        balance_angle_rad=balance,
        hold_margin_of_lane=(normal - moment / stance.radius_mm) / stance.weight_N,
        best_shift_mm=shift,
        hold_margin=float((answer.lightest or answer.spray).hold_margin.min()),
        hold_margin_shifted=float(lighter.hold_margin.min()),
        balance_angle_shifted_rad=float(moved.balance_rad.min()),
    )


def _worst_moment(
    line_mm: float, headers: tuple[Header, ...], stance: Stance, open_fraction: float
) -> tuple[float, tuple[HeaderPush, ...]]:
    """Place along the stage where a line's can has least balance angle, and the pushes there."""
    patches = [footprint_of(h, stance.height_mm) for h in headers]
    places = spray_places_mm(headers, patches, stance.radius_mm)
    each = [
        header_forces(h, patch, np.array([line_mm]), places, stance, open_fraction)
        for h, patch in zip(headers, patches, strict=True)
    ]
    normal = stance.weight_N + np.sum([force.down_N[0] for force in each], axis=0)
    along, across = np.sum([force.moment_N_mm[:, 0] for force in each], axis=0)
    turn = np.hypot(along, across)
    at = int(np.argmin(balance_under_load_rad(stance, normal, turn)))
    pushes = []
    for header, force in zip(headers, each, strict=True):
        if (push := abs(float(force.down_N[0, at]))) > 0.0:
            lateral, moment = force.lateral_N[:, 0, at], force.moment_N_mm[:, 0, at]
            pair = (float(lateral[0]), float(lateral[1])), (float(moment[0]), float(moment[1]))
            pushes.append(HeaderPush(header.side, header.station_mm, push, *pair))
    return float(places[at]), tuple(pushes)
