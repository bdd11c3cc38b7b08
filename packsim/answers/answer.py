"""The answers about one stage with one can size."""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from packsim.answers.tips import WorstLean
from packsim.answers.worst_can import DomeWater
from packsim.can import Stance
from packsim.errors import Assumption
from packsim.flow import CansFlow
from packsim.nozzles.lane_lines import Misalignment
from packsim.nozzles.shift import BestShift
from packsim.pack.state import Pack
from packsim.pack.voids import Voids, find_voids
from packsim.spray.spray_load import SprayLoad
from packsim.tipping.hold_down import HoldDown
from packsim.tipping.safe_slack import SafeSlack, TipIndex
from packsim.width.guide_window import GuideWindow
from packsim.width.lane_rule import LanePack, LanePacks
from packsim.width.slack_budget import SlackBudget


@dataclass(frozen=True, slots=True)
class Tipping:
    """How near the cans of one answer are to tipping.

    Parameters
    ----------
    rest_angle_rad : float
        Balance angle with no spray, its dome as full as is worst for that [rad].
    balance_angle_rad : float
        Least balance angle towards a guide at the worst moment under the sprays, worst lane [rad];
        0 where a can is lifted or overturned by the sprays alone.
    weakest_rad, weakest_direction_rad : float
        The same in the weakest of all directions, and its bearing [rad].
    splashed_rad : tuple of float
        Both angles where the sprays push twice as hard as their momentum, the most a splash thrown
        straight back can add [rad].
    least_energy_mJ : float
        Least energy that tips a can by itself anywhere under the sprays, in any direction [mJ].
    safe, safe_splashed : SafeSlack
        Slack that cannot let a can past its balance point towards a guide, as pushed and twice so.
    nominal : TipIndex
        With the slack as set.
    loosest : TipIndex
        With the slack of the budget's loosest case; what the verdict rests on.
    loosest_slack_mm : float
        That slack [mm].
    allowed_slack_mm : float
        Safe slack over the safety factor [mm].
    own : WorstLean
        Largest lean any single can has room for by itself in the pack as laid.
    gathered : WorstLean
        Largest lean with all slack of a can's chain gathered beside it, in the pack as laid: parted
        along travel where it is not full.
    verdict : str
        ``tight``, ``held``, ``loose`` or ``can tip``; see `TipIndex`. The indices leave a hold-down
        mat out; where one blocks tipping, ``can tip`` becomes ``loose``.
    """

    rest_angle_rad: float
    balance_angle_rad: float
    weakest_rad: float
    weakest_direction_rad: float
    splashed_rad: tuple[float, float]
    least_energy_mJ: float
    safe: SafeSlack
    safe_splashed: SafeSlack
    nominal: TipIndex
    loosest: TipIndex
    loosest_slack_mm: float
    allowed_slack_mm: float
    own: WorstLean
    gathered: WorstLean
    verdict: str

    @property
    def own_index(self) -> float:
        """Largest own lean over the balance angle [-]."""
        return self.own.index

    @property
    def own_place(self) -> str:
        """Where that can is: ``edge`` or ``centre``."""
        return self.own.place


@dataclass(frozen=True, slots=True)
class Alignment:
    """Can lines against nozzles.

    Parameters
    ----------
    now : Misalignment
        As the guides are set.
    best : BestShift
        What a shift of the pack could reach within the room there is.
    room_mm : tuple of float
        How far the pack may move to the left and to the right [mm].
    side : {"above", "below"}
        The side of the mat whose nozzles these are, the worse one of the two.
    """

    now: Misalignment
    best: BestShift
    room_mm: tuple[float, float]
    side: str


OPEN_GAP: Final = 0.05
"""Share of a diameter: in a pack that is not full every contact is a little open, and only gaps
wider than this join voids. Wider gaps than a twentieth are rare at the fills lines run at."""


@dataclass(frozen=True)  # no slots: the voids are kept beside the fields once they are asked for
class Answer:
    """One stage with one can size.

    Parameters
    ----------
    stage, size : str
        Names of both.
    stance : Stance
        The can as it stands in this stage, its dome as full as is worst under the sprays.
    water : DomeWater
        How full that is, and how full for other questions.
    packs : LanePacks
        The packs the clear width can hold.
    pack : Pack
        The pack at the narrowest bracket that everything is judged by, the looser one.
    budget : SlackBudget
        What makes the slack larger or smaller than the tape says.
    window, window_rss : GuideWindow
        Clear widths that are neither too tight nor too loose, worst case and root-sum-square.
    wire_heights_mm : tuple of float
        Heights of the guide wires at mid-span, where they hang lowest [mm].
    tipping : Tipping
        How near cans are to tipping.
    hold_down : HoldDown or None
        What the hold-down mat does, where there is one.
    spray, lightest : SprayLoad or None
        What the sprays do to each lane, where there are any: to that can, and to one with the least
        water, which they lift and press over most.
    alignment : Alignment or None
        Can lines against nozzles, where there are any.
    flow : CansFlow
        Cans per metre and mat speed.
    dwell_s : float
        Time in the stage [s].
    assumed : tuple of Assumption
        Everything here rests on these.
    """

    stage: str
    size: str
    stance: Stance
    water: DomeWater
    packs: LanePacks
    pack: Pack
    budget: SlackBudget
    window: GuideWindow
    window_rss: GuideWindow
    wire_heights_mm: tuple[float, ...]
    tipping: Tipping
    hold_down: HoldDown | None
    spray: SprayLoad | None
    lightest: SprayLoad | None
    alignment: Alignment | None
    flow: CansFlow
    dwell_s: float
    assumed: tuple[Assumption, ...]

    @cached_property
    def voids(self) -> Voids:
        """What the pack leaves open; worked out when first asked for, as few questions need it."""
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
