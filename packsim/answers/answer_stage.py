"""Asks every question of one stage with one can size and puts the answers together."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from packsim.answers.answer import Alignment, Answer, Tipping
from packsim.answers.tips import gathered_worst, own_worst
from packsim.answers.worst_can import WorstCan, stage_hold_down, stage_sprays, worst_can
from packsim.arrays import Floats
from packsim.can import Can
from packsim.flow import pack_flow
from packsim.line import SIDES, Scenario, Stage
from packsim.nozzles.lane_lines import lane_lines_mm, lane_shares, misalignment, nozzle_places_mm
from packsim.nozzles.shift import Facing, joint_shift
from packsim.pack.state import STUDY_LENGTH_MM, Pack, pack_between
from packsim.spray.spray_load import SPRAY_ASSUMED
from packsim.tipping.hold_down import HoldDown
from packsim.tipping.safe_slack import SafeSlack, TipIndex, safe_slack, tip_index
from packsim.width.guide_window import guide_window
from packsim.width.guide_wires import slackest_span
from packsim.width.lane_rule import LanePack, LanePacks, packs_at
from packsim.width.reach import FUNNEL_ASSUMED, Reach
from packsim.width.slack_budget import SlackBudget, slack_budget


def answer_line(scenario: Scenario, size: str) -> tuple[Answer, ...]:
    """Answer every stage of a line with one can size, in order; see `answer_stage`."""
    return tuple(answer_stage(scenario, stage.name, size) for stage in scenario.stages)


def governing_stage(scenario: Scenario, size: str) -> str:
    """Return the name of the stage with the least safe slack for a size, the first of equals."""
    return min(answer_line(scenario, size), key=lambda answer: answer.tipping.safe.slack_mm).stage


def stage_and_size(scenario: Scenario, stage: str | None, size: str | None) -> tuple[str, str]:
    """Return both names: the size the guides are set for and `governing_stage` where left out."""
    name = scenario.size(size).name
    return governing_stage(scenario, name) if stage is None else stage, name


@lru_cache(maxsize=256)
def answer_stage(scenario: Scenario, stage_name: str, size: str) -> Answer:
    """Answer every question about one stage with one can size.

    Parameters
    ----------
    scenario : Scenario
        The case.
    stage_name, size : str
        Which of its stages and which of its sizes.

    Returns
    -------
    Answer
        All answers; a pack that does not fit is one of them.

    Raises
    ------
    InputError
        If a name is unknown, or a value is outside what a formula holds for.
    """
    stage, can = scenario.stage(stage_name), scenario.size(size)
    guides = stage.guides
    packs = stage_packs(stage, can)
    pack = stage_pack(stage, can, guides.narrowest_mm)
    budget = slack_budget(stage, can, packs.judged.pack_width_mm)
    lines, open_part = sprayed_lines_mm(stage, pack), scenario.mat.open_fraction
    worst = worst_can(stage, can, open_part, lines)
    shares = worst.water.sprayed, worst.water.low
    spray, lightest = stage_sprays(stage, can, open_part, lines, shares)
    stance, balance = worst.sprayed, worst.balance_rad
    heights = lowest_wires_mm(stage)
    safe = safe_slack(stance, heights, balance)
    flow = pack_flow(pack, scenario.mat)
    mat = stage_hold_down(stage, worst)
    tipping = _tipping(scenario, mat, worst, pack, budget, safe, heights)
    return Answer(
        stage=stage.name,
        size=can.name,
        stance=stance,
        water=worst.water,
        packs=packs,
        pack=pack,
        budget=budget,
        window=guide_window(budget, safe.slack_mm, scenario.factor),
        window_rss=guide_window(budget, safe.slack_mm, scenario.factor, method="rss"),
        wire_heights_mm=heights,
        tipping=tipping,
        hold_down=mat,
        spray=spray,
        lightest=lightest,
        alignment=_alignment(scenario, stage, pack),
        flow=flow,
        dwell_s=flow.dwell_s(stage.length_mm),
        assumed=(
            *scenario.assumed_in(stage, can),
            *(() if spray is None else SPRAY_ASSUMED),
            *(FUNNEL_ASSUMED if guides.shape == "funnel" else ()),
        ),
    )


def stage_pack(
    stage: Stage, can: Can, clear_width_mm: float, length_mm: float = STUDY_LENGTH_MM
) -> Pack:
    """Return the looser pack of a size between guides of a width, filled as in a stage."""
    judged = packs_at(clear_width_mm, can.diameter_mm, stage.layout, stage.fill).judged
    return pack_between(
        clear_width_mm,
        can.diameter_mm,
        stage.layout,
        length_mm,
        judged.fill,
        state="slack",
        lanes=judged.lanes,
    )


def stage_packs(stage: Stage, can: Can) -> LanePacks:
    """Return the packs a size can stand in between a stage's guides as they are set.

    A stage that asks for strained or blocks is judged like any other, by the looser pack; the
    state asked for is what its pack might be.
    """
    width, diameter = stage.guides.narrowest_mm, can.diameter_mm
    packs = packs_at(width, diameter, stage.layout, stage.fill)
    if stage.state not in ("strained", "blocks"):
        return packs
    asked = pack_between(
        width, diameter, stage.layout, STUDY_LENGTH_MM, stage.fill, state=stage.state
    )
    if not asked.fits:
        return replace(packs, might_be=None)
    full = asked.cans_per_metre / asked.fill
    might_be = LanePack(
        lanes=asked.lanes,
        pack_width_mm=asked.pack_width_mm,
        slack_mm=asked.slack_mm,
        cans_per_metre=full,
        fill=asked.fill,
        state=stage.state,
    )
    return replace(packs, might_be=might_be)


def lowest_wires_mm(stage: Stage) -> tuple[float, ...]:
    """Heights of a stage's wires where they hang lowest, at mid-span of the slackest span [mm].

    A sagged wire supports less, so tipping is judged there; a wire sagged onto the mat is gone.
    """
    heights = stage.guides.wires.heights_mm
    return tuple(low for low in (z - drop_mm(stage) for z in heights) if low > 0.0)


def drop_mm(stage: Stage) -> float:
    """How much lower wires hang at mid-span of the slackest span than at the brackets [mm]."""
    span = slackest_span(stage.guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    return 0.0 if span is None else span.drop_mm


_NO_CAN = TipIndex(math.nan, math.nan, 0.0, 0.0, "tight")
"""Where no can fits no can tips, but nothing there is safe either."""


def _tipping(
    scenario: Scenario,
    mat: HoldDown | None,
    worst: WorstCan,
    pack: Pack,
    budget: SlackBudget,
    safe: SafeSlack,
    heights_mm: tuple[float, ...],
) -> Tipping:
    stance, balance_rad = worst.sprayed, worst.balance_rad

    def index_at(slack_mm: float) -> TipIndex:
        if not pack.fits:
            return _NO_CAN
        return tip_index(slack_mm, stance, heights_mm, balance_rad, factor=scenario.factor)

    nominal, loosest = index_at(budget.slack_mm), index_at(budget.loosest_mm)
    own = own_worst(pack, stance, worst.weakest_rad, heights_mm)
    gathered = gathered_worst(pack, stance, balance_rad, heights_mm)
    over = max(own.index, gathered.index) >= 1.0  # more than the bound where cans part along travel
    verdict = "can tip" if over and loosest.verdict != "tight" else loosest.verdict
    if verdict == "can tip" and mat is not None and mat.blocks:
        verdict = "loose"
    return Tipping(
        rest_angle_rad=worst.at_rest.balance_angle_rad,
        balance_angle_rad=balance_rad,
        weakest_rad=worst.weakest_rad,
        weakest_direction_rad=worst.weakest_direction_rad,
        splashed_rad=worst.splashed_rad,
        least_energy_mJ=worst.least_mJ,
        safe=safe,
        safe_splashed=safe_slack(stance, heights_mm, worst.splashed_rad[0]),
        nominal=nominal,
        loosest=loosest,
        loosest_slack_mm=budget.loosest_mm,
        allowed_slack_mm=safe.slack_mm / scenario.factor,
        own=own,
        gathered=gathered,
        verdict=verdict,
    )


def _alignment(scenario: Scenario, stage: Stage, pack: Pack) -> Alignment | None:
    """Return the side whose worst lane is farther off its nozzle, and one shift for both sides."""
    if not pack.fits or not stage.headers:
        return None
    lines = lane_lines_mm(pack, _left_mm(stage))
    reach = Reach.of(stage.guides, scenario.mat.width_mm)
    room = reach.room_mm(pack.clear_width_mm, stage.guides.centre_mm)
    shares = lane_shares(pack)
    rows = {side: nozzle_places_mm(stage.headers, side) for side in SIDES}
    rows = {side: row for side, row in rows.items() if len(row)}
    best = joint_shift([Facing(lines, row, shares) for row in rows.values()], room)
    found = [
        Alignment(misalignment(lines, row, weights=shares), best, room, side)
        for side, row in rows.items()
    ]
    return max(found, key=lambda one: one.now.worst_mm)


def _left_mm(stage: Stage) -> float:
    """Left face at the narrowest bracket, where the pack is laid [mm]."""
    return stage.guides.centre_mm - stage.guides.narrowest_mm / 2.0


def sprayed_lines_mm(stage: Stage, pack: Pack) -> Floats:
    """Lines of can centres the sprays of a stage meet, the pack in the middle of its pass.

    None where no can fits or nothing sprays.
    """
    if not pack.fits or not stage.headers:
        return np.zeros(0)
    return lane_lines_mm(pack, stage.guides.centre_mm - pack.clear_width_mm / 2.0)
