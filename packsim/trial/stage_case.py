"""One stage at one clear width, as the row model sees it: slack, stance, kicks a can gets."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from packsim.answers import lowest_wires_mm, sprayed_lines_mm, stage_pack
from packsim.answers.worst_can import WorstCan, stage_hold_down, worst_can
from packsim.arrays import Floats
from packsim.can import Can
from packsim.errors import one_of, positive
from packsim.line import Scenario, Stage
from packsim.pack.state import Pack
from packsim.tipping.overturning import RowLoad
from packsim.tipping.row_chance import log_stage_chances, rows_of, tipping_most
from packsim.width.slack_budget import slack_budget

SLACK_CASES: Final = ("set", "loosest")
"""Slack as set by the tape, nominal cans, cold; or the loosest case of the slack budget."""


@dataclass(frozen=True, slots=True)
class StageCase:
    """One stage with one size at one clear width.

    ``exposures`` are the kicks a can gets on its way through, rate × dwell. ``rows`` has the row at
    every share of dome water that may tip most cans, that of the safe slack first; it is empty
    where no can fits. The one that tips most is chosen at ``kick_mJ``, the scenario's kick energy.
    ``held_down`` says that a hold-down mat keeps every can from its balance point.
    """

    stage: str
    duty: str
    clear_width_mm: float
    exposures: float
    slack_mm: float = 0.0
    rows: tuple[RowLoad, ...] = ()
    kick_mJ: float = 0.0
    held_down: bool = False

    @property
    def row(self) -> RowLoad | None:
        """The row with the least balance angle; None where no can fits."""
        return self.rows[0] if self.rows else None

    @property
    def why_never(self) -> str:
        """Why the model rules a tip out here; empty where it does not."""
        if self.row is None:
            return "no can fits"
        if self.held_down:
            return "the hold-down mat stops every can before its balance point"
        if self.exposures <= 0.0:
            return "the scenario gives this stage no kicks"
        if self.row.held_by(self.slack_mm):
            return "the slack is within the safe slack"
        return ""

    def log_chances(self, kicks_mJ: Floats, sharing: str) -> Floats:
        """Logarithm of each can's chance to be tipped here, shape (kicks, cans of a row)."""
        if self.row is None or self.why_never:
            if self.row is None:  # no can, so no chance
                return np.full((len(kicks_mJ), 1), np.nan)
            return np.full((len(kicks_mJ), self.row.cans), -np.inf)
        row = self.row
        if self.kick_mJ > 0.0:
            case = (self.slack_mm, self.exposures, self.kick_mJ, sharing)
            row, _ = tipping_most(self.rows, *case)
        return log_stage_chances(self.slack_mm, row, self.exposures, kicks_mJ, sharing)


@dataclass(slots=True)
class LineCases:
    """Makes the stage cases of one size; spray loads are worked out once per lane count.

    A slack pack lies centred, so its lanes stand still against the nozzles while the clear width
    changes; only another lane count moves them. ``slack_case`` is one of `SLACK_CASES`.
    """

    scenario: Scenario
    size: str
    slack_case: str = "set"
    _worst_by_pack: dict[tuple[int, int, str], WorstCan] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        one_of("slack_case", self.slack_case, SLACK_CASES)
        self.scenario.size(self.size)

    def case(self, index: int, clear_width_mm: float) -> StageCase:
        """Return the case of one stage with its guides at a clear width [mm]."""
        can = self.scenario.size(self.size)
        width = positive("clear_width_mm", clear_width_mm)
        stage = self.scenario.stages[index].with_clear_width(width)
        pack = stage_pack(stage, can, width)
        dwell = stage.length_mm / self.scenario.mat.speed_mm_per_s
        exposures = stage.kicks.rate_per_s * dwell
        if not pack.fits:
            return StageCase(stage.name, stage.duty, width, exposures)
        worst = self._worst(index, stage, can, pack)
        heights = lowest_wires_mm(stage)
        mat = stage_hold_down(stage, worst)
        return StageCase(
            stage=stage.name,
            duty=stage.duty,
            clear_width_mm=width,
            slack_mm=self._slack_mm(stage, pack, can),
            rows=rows_of(pack, worst.loads, heights),
            kick_mJ=stage.kicks.energy_mJ,
            exposures=exposures,
            held_down=mat is not None and mat.blocks,
        )

    def _slack_mm(self, stage: Stage, pack: Pack, can: Can) -> float:
        if self.slack_case == "set":
            return max(0.0, pack.slack_mm)
        return max(0.0, slack_budget(stage, can, pack.pack_width_mm).loosest_mm)

    def _worst(self, index: int, stage: Stage, can: Can, pack: Pack) -> WorstCan:
        """Return the can of the worst lane at the worst moment, as a study takes it."""
        key = (index, pack.lanes, pack.state)
        if key not in self._worst_by_pack:
            self._worst_by_pack[key] = worst_can(
                stage, can, self.scenario.mat.open_fraction, sprayed_lines_mm(stage, pack)
            )
        return self._worst_by_pack[key]
