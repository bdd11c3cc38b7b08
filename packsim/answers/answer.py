"""The answers about one stage with one can size; each is worked out when it is first asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, Final

import numpy as np

from packsim.answers.stage_pack import (
    Alignment,
    CansFlow,
    alignment,
    alike_mm,
    clear_headers,
    lowest_wires_mm,
    sprayed_lines_mm,
    stage_pack,
    stage_packs,
)
from packsim.answers.tipping import Tipping
from packsim.answers.worst_can import DomeWater, WorstCan, stage_sprays, worst_can
from packsim.arrays import Floats
from packsim.can import Can, Stance
from packsim.errors import Assumption, Complaints
from packsim.line import Header, Mat, Scenario, Stage
from packsim.nozzles.lane_lines import lane_shares
from packsim.pack.state import Pack
from packsim.pack.voids import Voids, find_voids
from packsim.spray.dose import lane_doses_mL
from packsim.spray.spray_load import SPRAY_ASSUMED, SprayLoad
from packsim.tipping.stops import HoldDown, hold_down
from packsim.width.funnel import FUNNEL_ASSUMED
from packsim.width.guide_window import GuideWindow, guide_window
from packsim.width.lane_rule import LanePack, LanePacks
from packsim.width.slack_budget import SlackBudget, slack_budget

OPEN_GAP: Final = 0.05
"""Share of a diameter: in a pack that is not full every contact is a little open, and only gaps
wider than this join voids. Wider gaps than a twentieth are rare at the fills lines run at."""


@dataclass(frozen=True)  # no slots: answers are kept beside the fields once they are asked for
class Answer:
    """One stage with one can size.

    Parameters
    ----------
    set_stage : Stage
        The stage as it is set.
    can : Can
        The size.
    mat : Mat
        The mat it rides on.
    factor : float
        Safety factor on the safe slack [-].
    given : tuple of Assumption
        What its scenario assumes of both.
    """

    set_stage: Stage
    can: Can
    mat: Mat
    factor: float
    given: tuple[Assumption, ...]

    def of_pack(self, pack: Pack) -> Answer:
        """Return the same answers for another pack between these guides, one that was seen.

        Its leans, voids and counts are its own; sprays and nozzles meet the lanes of this one, and
        tolerances, heat and wear stay as they are.
        """
        other = replace(self)
        found = find_voids(pack, OPEN_GAP * pack.diameter_mm)
        kept = {name: getattr(self, name) for name in ("lines_mm", "lane_shares", "alignment")}
        vars(other).update(pack=pack, voids=found, **kept)
        return other

    @property
    def stage(self) -> str:
        """Name of the stage."""
        return self.set_stage.name

    @property
    def size(self) -> str:
        """Name of the can size."""
        return self.can.name

    @cached_property
    def packs(self) -> LanePacks:
        """The packs the clear width can hold."""
        return stage_packs(self.set_stage, self.can)

    @cached_property
    def pack(self) -> Pack:
        """The pack at the narrowest bracket that everything is judged by, the looser one."""
        return stage_pack(self.set_stage, self.can, self.set_stage.guides.narrowest_mm)

    @cached_property
    def budget(self) -> SlackBudget:
        """What makes the slack larger or smaller than the tape says."""
        return slack_budget(self.set_stage, self.can, self.packs.judged.pack_width_mm)

    @cached_property
    def wire_heights_mm(self) -> tuple[float, ...]:
        """Heights of the guide wires at mid-span, where they hang lowest [mm]."""
        return lowest_wires_mm(self.set_stage)

    @cached_property
    def lines_mm(self) -> tuple[float, ...]:
        """Lines of can centres the sprays meet, from the mat's left edge [mm]."""
        return alike_mm(sprayed_lines_mm(self.set_stage, self.pack))

    @cached_property
    def lane_shares(self) -> Floats:
        """Share of the cans that each of those lines has [-]."""
        return lane_shares(self.pack)

    @cached_property
    def worst(self) -> WorstCan:
        """The can with its dome as full as is worse for each question."""
        return worst_can(self.set_stage, self.can, self.mat.open_fraction, self.lines_mm)

    @property
    def stance(self) -> Stance:
        """The can as it stands in this stage, its dome as full as is worst under the sprays."""
        return self.worst.sprayed

    @property
    def water(self) -> DomeWater:
        """How full that is, and how full for other questions."""
        return self.worst.water

    @cached_property
    def tipping(self) -> Tipping:
        """How near cans are to tipping."""
        return Tipping(
            worst=self.worst,
            pack=self.pack,
            budget=self.budget,
            heights_mm=self.wire_heights_mm,
            factor=self.factor,
            hold_down=self.hold_down,
        )

    @cached_property
    def window(self) -> GuideWindow:
        """Clear widths that are neither too tight nor too loose, worst case."""
        return guide_window(self.budget, self.tipping.safe.slack_mm, self.factor)

    @cached_property
    def window_rss(self) -> GuideWindow:
        """Clear widths that are neither too tight nor too loose, root-sum-square."""
        return guide_window(self.budget, self.tipping.safe.slack_mm, self.factor, method="rss")

    @cached_property
    def hold_down(self) -> HoldDown | None:
        """What the hold-down mat does, where there is one.

        Judged at the least balance angle of all directions under the sprays: a can past that falls
        on while they act, as a run counts it.
        """
        over = self.set_stage.hold_down_mm
        return None if over is None else hold_down(self.worst.sprayed, over, self.worst.weakest_rad)

    @property
    def headers(self) -> tuple[Header, ...]:
        """Headers of the stage that the can passes; see `clear_headers`."""
        return clear_headers(self.set_stage, self.can.height_mm)

    @property
    def sprayed(self) -> bool:
        """Whether any header sprays a can."""
        return self.pack.fits and bool(self.headers)

    @cached_property
    def _loads(self) -> tuple[SprayLoad | None, ...]:
        shares = self.water.sprayed, self.water.low
        open_part = self.mat.open_fraction
        return stage_sprays(self.set_stage, self.can, open_part, self.lines_mm, shares)

    @property
    def spray(self) -> SprayLoad | None:
        """What the sprays do to the can of each lane as it stands, where there are any."""
        return self._loads[0]

    @property
    def lightest(self) -> SprayLoad | None:
        """The same of a can with the least water, which they lift and press over most."""
        return self._loads[1]

    @cached_property
    def doses(self) -> dict[str, Floats]:
        """What each lane gets inside and on top, where headers spray there [mL per can]."""
        return _doses(self.headers, self.can, self.mat, self.lines_mm) if self.sprayed else {}

    @cached_property
    def alignment(self) -> Alignment | None:
        """Can lines against nozzles, where there are any."""
        return alignment(self.set_stage, self.mat, self.pack)

    @cached_property
    def flow(self) -> CansFlow:
        """Cans per metre and mat speed."""
        return CansFlow(self.pack.cans_per_metre, self.mat.speed_mm_per_s)

    @property
    def dwell_s(self) -> float:
        """Time in the stage [s]."""
        return self.flow.dwell_s(self.set_stage.length_mm)

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything here rests on these."""
        funnel = self.set_stage.guides.shape == "funnel"
        spray = SPRAY_ASSUMED if self.sprayed else ()
        return (*self.given, *spray, *(FUNNEL_ASSUMED if funnel else ()))

    @cached_property
    def voids(self) -> Voids:
        """What the pack leaves open."""
        full = self.pack.fill == 1.0
        return find_voids(self.pack, None if full else OPEN_GAP * self.pack.diameter_mm)

    @property
    def slack_mm(self) -> float:
        """Slack as set: clear width less the width of the touching pack [mm]."""
        return self.budget.slack_mm

    @property
    def might_be(self) -> LanePack | None:
        """The denser pack that may stand here instead; never judged, as it is the safer one."""
        return self.packs.might_be


def answer_stage(scenario: Scenario, stage_name: str, size: str) -> Answer:
    """Answer one stage with one can size.

    Parameters
    ----------
    scenario : Scenario
        The case.
    stage_name, size : str
        Which of its stages and which of its sizes.

    Returns
    -------
    Answer
        All answers; a pack that does not fit is one of them. Lines that share a stage, and what
        its answers depend on, share the answers.

    Raises
    ------
    InputError
        If a name is unknown, or a value is outside what a formula holds for.
    """
    stage, can = scenario.stage(stage_name), scenario.size(size)
    return _answer(stage, can, scenario.mat, scenario.factor, scenario.assumed_in(stage, can))


@lru_cache(maxsize=256)
def _doses(
    headers: tuple[Header, ...], can: Can, mat: Mat, lines_mm: tuple[float, ...]
) -> dict[str, Floats]:
    return lane_doses_mL(np.array(lines_mm), can.stance(), headers, mat)


@lru_cache(maxsize=512)
def _answer(*depends_on: Any) -> Answer:
    found = Answer(*depends_on)
    _ = found.budget, found.wire_heights_mm  # what cannot be is refused at once
    return found


def answer_line(scenario: Scenario, size: str) -> tuple[Answer, ...]:
    """Answer every stage of a line with one can size, in order; see `answer_stage`."""
    return tuple(answer_stage(scenario, stage.name, size) for stage in scenario.stages)


def governing_stage(scenario: Scenario, size: str) -> str:
    """Return the name of the stage with the least safe slack for a size, the first of equals."""
    return min(answer_line(scenario, size), key=lambda answer: answer.tipping.safe.slack_mm).stage


def stage_and_size(scenario: Scenario, stage: str | None, size: str | None) -> tuple[str, str]:
    """Return both names: the size the guides are set for and `governing_stage` where left out.

    Raises `InputErrors` for what is unknown, of both at once.
    """
    asked = Complaints()
    name = asked.of(lambda: scenario.size(size).name, "")
    place = "" if stage is None else asked.of(lambda: scenario.stage(stage).name, "")
    asked.complain()
    return place or governing_stage(scenario, name), name
