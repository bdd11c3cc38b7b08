"""A guide setting of a whole line for one size, as data."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from packsim.answers import Answer, answer_line
from packsim.errors import one_of
from packsim.line import Bracket, Scenario, Stage
from packsim.setting.moves import HoldDownMove, WirePart
from packsim.width.guide_window import GuideWindow

SOURCES: Final = ("window", "stays", "low end", "reach", "record")
"""Where a setting of the brackets comes from: the middle of the guide window; the present setting
lies inside it; an empty window's low end; the end of the brackets' travel or the mat's edge; the
setting on record."""


@dataclass(frozen=True, slots=True)
class StageSetting:
    """The setting of one stage.

    Parameters
    ----------
    stage : Stage
        The stage as it shall stand: guides, wires, hold-down.
    lanes : int
        Lanes it is set for.
    judged_lanes : int
        Lanes it is judged by, the looser pack: fewer where they are too wide for the setting, or
        where a thin infeed may bring fewer.
    window : GuideWindow
        Clear widths that suit those lanes, the wires as they shall hang.
    source : {"window", "stays", "low end", "reach", "record"}
        Where the setting comes from; see `SOURCES`.
    gauge : bool
        Whether no whole setting step lies in the window, so that it takes a gauge.
    shift_mm : float
        Move of the middle of the pass at the narrowest bracket, positive to the right [mm].
    wires : WirePart
        Its wires.
    hold_down : HoldDownMove or None
        Its hold-down mat, where there is one.
    index : float
        Tip index of the loosest case, whatever a hold-down stops [-].
    jams, safe : bool
        Whether the tightest case has no slack; whether it has some, and the loosest case no more
        than allowed.
    offset_mm : float
        Distance of the worst lane from its nearest nozzle; nan without nozzles [mm].
    move_mm : float
        Farthest any guide face moves [mm].
    """

    stage: Stage
    lanes: int
    judged_lanes: int
    window: GuideWindow
    source: str
    gauge: bool
    shift_mm: float
    wires: WirePart
    hold_down: HoldDownMove | None
    index: float
    jams: bool
    safe: bool
    offset_mm: float
    move_mm: float

    def __post_init__(self) -> None:
        one_of("source", self.source, SOURCES)

    @property
    def brackets(self) -> tuple[Bracket, ...]:
        """Where its brackets shall stand."""
        return self.stage.guides.brackets

    @property
    def clear_width_mm(self) -> float:
        """Clear width at the narrowest bracket [mm]."""
        return self.stage.guides.narrowest_mm

    @property
    def window_mm(self) -> tuple[float, float] | None:
        """Both ends of its guide window; None when it is empty [mm]."""
        return self.window.ends_mm

    @property
    def prevents(self) -> str:
        """What keeps it from being safe, in words; empty where it is."""
        if self.safe:
            return ""
        if self.jams:
            return f"{self.lanes} lanes do not fit in every case"
        if self.judged_lanes < self.lanes:
            return f"so thin an infeed may bring {self.judged_lanes} lanes"
        if math.isinf(self.index):
            return "nothing holds a can there, or the sprays alone turn it over"
        if self.window.empty:
            return f"no clear width is safe for {self.lanes} lanes"
        return "it stands outside the guide window"


@dataclass(frozen=True)  # no slots: the answers are kept beside the fields once they are asked for
class LineSetting:
    """The recommended setting of a line for one size.

    Parameters
    ----------
    scenario : Scenario
        The line as found.
    size, from_size : str
        The size it is for, and the one that ran before.
    keep : {"rate", "dwell"}
        What is kept: cans per minute, or the mat speed.
    step_mm : float or None
        Step settings are whole multiples of; None for each stage's own [mm].
    stages : tuple of StageSetting
        In order along travel.
    speed_mm_per_s, cans_per_min : tuple of float
        Mat speed [mm/s] and cans per minute [1/min], as found and as recommended.
    reason : str
        Why these lanes.
    """

    scenario: Scenario
    size: str
    from_size: str
    keep: str
    step_mm: float | None
    stages: tuple[StageSetting, ...]
    speed_mm_per_s: tuple[float, float]
    cans_per_min: tuple[float, float]
    reason: str

    @cached_property
    def line(self) -> Scenario:
        """The line as it shall stand."""
        mat = replace(self.scenario.mat, speed_mm_per_s=self.speed_mm_per_s[1])
        stages = tuple(part.stage for part in self.stages)
        return replace(self.scenario, mat=mat, stages=stages)

    @cached_property
    def answers(self) -> tuple[Answer, ...]:
        """Every answer about the line as it shall stand."""
        return answer_line(self.line, self.size)

    def of_stage(self, name: str) -> StageSetting:
        """Return the setting of one stage; raise `InputError` if there is none."""
        return self.stages[self.scenario.stages.index(self.scenario.stage(name))]

    @property
    def lanes(self) -> int:
        """Lanes of most of its stages."""
        return Counter(part.lanes for part in self.stages).most_common(1)[0][0]

    @property
    def safe(self) -> bool:
        """Whether every stage is safe and no can can tip for another cause."""
        if not all(part.safe for part in self.stages):
            return False
        return all(answer.tipping.verdict != "can tip" for answer in self.answers)

    @property
    def unsafe(self) -> tuple[StageSetting, ...]:
        """Stages that no setting makes safe."""
        return tuple(part for part in self.stages if not part.safe)

    @property
    def index(self) -> float:
        """Largest tip index of any stage, loosest case [-]."""
        return max(part.index for part in self.stages)

    @property
    def offset_mm(self) -> float:
        """Distance of the worst lane of any stage from its nearest nozzle; nan without any [mm]."""
        each = (part.offset_mm for part in self.stages)
        return max(filter(math.isfinite, each), default=math.nan)

    @property
    def move_mm(self) -> float:
        """Farthest any guide face moves [mm]."""
        return max(part.move_mm for part in self.stages)
