"""The chance of a tip against clear width, on the machine as it is and as it would be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.answers.misfit import misfits
from packsim.chance import Rate, chance_of
from packsim.line import Scenario
from packsim.trial.chances import Progress, line_at

BESIDE: Final = 0.25
"""How far beside today's and the proposed width the chance is worked out too, as a share of what
lies between them."""

LEAST_MM: Final = 3.0
"""The same at least [mm]."""

BETWEEN: Final = 5
"""Widths at which it is worked out, today's and the proposed one apart."""


@dataclass(frozen=True, slots=True)
class WidthChance:
    """The chance of a tip at one setting, on the machine as it is and as it would be.

    Parameters
    ----------
    clear_width_mm : float
        Clear width of the stage that is shown, all others moved alike [mm].
    before, after : Rate
        The chance of the whole line.
    """

    clear_width_mm: float
    before: Rate
    after: Rate


def widths_mm(now_mm: float, then_mm: float) -> list[float]:
    """Return clear widths about today's and the proposed one, those two among them [mm]."""
    low, high = sorted((now_mm, then_mm))
    beside = max(LEAST_MM, BESIDE * (high - low))
    even = np.linspace(low - beside, high + beside, BETWEEN).tolist()
    apart = [w for w in even if min(abs(w - now_mm), abs(w - then_mm)) > LEAST_MM / 4.0]
    return sorted({now_mm, then_mm, *apart})


def chance_at_widths(
    before: Scenario, after: Scenario, stage: str, size: str, progress: Progress | None = None
) -> tuple[WidthChance, ...]:
    """Return the chance of both machines against the clear width of a stage.

    Guides of all stages are moved alike. Widths that do not hold the cans are left out.
    """
    lines = [(line, line.stage(stage).guides.narrowest_mm) for line in (before, after)]
    rows, asked = [], widths_mm(*(now for _, now in lines))
    for k, width in enumerate(asked):
        moved = [_moved(line, width - now) for line, now in lines]
        if not any(misfits(line, size) for line in moved):
            rows.append(WidthChance(width, *(chance_of(line, size).line for line in moved)))
        if progress is not None:
            progress(k + 1, len(asked))
    return tuple(rows)


def _moved(line: Scenario, by_mm: float) -> Scenario:
    if by_mm == 0.0:
        return line
    return line_at(line, [stage.guides.narrowest_mm + by_mm for stage in line.stages])
