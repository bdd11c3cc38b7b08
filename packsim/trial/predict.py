"""Tips to be expected at other clear widths, for given kick energies."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.tipping.row_chance import line_per_million
from packsim.trial.stage_case import LineCases

NEGLIGIBLE: Final = 1e-3
"""A duty that adds less than this share of the tips is not named as assumed."""


@dataclass(frozen=True, slots=True, eq=False)
class Prediction:
    """Tips to be expected per million at k settings, in all, by stage and by place.

    Places are the left edge, the centre and the right edge; the model knows no side. By stage they
    are of the cans that come to it; in all and by place of those fed to the line.
    """

    widths_mm: Floats
    per_million: Floats
    by_stage: Floats
    by_place: Floats


def predict(
    scenario: Scenario,
    size: str,
    widths_mm: ArrayLike,
    energies_mJ: Mapping[str, float] | None = None,
    *,
    sharing: str = "spread",
    line: LineCases | None = None,
) -> Prediction:
    """Return the tips to be expected at other clear widths.

    ``widths_mm`` has shape (k,), the same at every stage, or (k, stages). A kick energy is each
    stage's own where its duty is not in ``energies_mJ``. ``line`` is what earlier predictions of
    this size worked out, to spare the spray loads.

    A hold-down mat that blocks, and slack within the safe slack, give 0; a width in which not one
    can fits gives nan. Raises `InputError` if the size is unknown or a width is not above 0.
    """
    widths = all_widths_mm(scenario, widths_mm)
    line = LineCases(scenario, size) if line is None else line
    energies = energies_mJ or {}
    by_stage = np.zeros(widths.shape)
    by_place = np.zeros((len(widths), 3))
    for k, i in np.ndindex(*widths.shape):
        stage = scenario.stages[i]
        kick = energies.get(stage.duty, stage.kicks.energy_mJ)
        case = line.case(i, float(widths[k, i]))
        if kick <= 0.0 and case.row is not None:
            continue
        chances = np.exp(case.log_chances(np.array([kick]), sharing))[0]
        by_stage[k, i] = chances.mean()
        by_place[k] += _by_place(chances)
    per_million = np.array([line_per_million(rates) for rates in 1e6 * by_stage])
    total = by_place.sum(axis=1)
    joined = np.divide(per_million, total, out=np.zeros_like(total), where=total != 0.0)
    return Prediction(widths, per_million, 1e6 * by_stage, by_place * joined[:, None])


def all_widths_mm(scenario: Scenario, widths_mm: ArrayLike) -> Floats:
    """Return a clear width for every setting and stage, shape (k, stages) [mm]."""
    widths = np.asarray(widths_mm, dtype=np.float64)
    if widths.ndim == 1:
        widths = np.repeat(widths[:, None], len(scenario.stages), axis=1)
    if widths.ndim != 2 or widths.shape[1] != len(scenario.stages):
        allowed = f"(k,) or (k, {len(scenario.stages)})"
        raise InputError("widths_mm", f"shape {np.shape(widths_mm)}", allowed)
    return widths


def _by_place(chances: Floats) -> Floats:
    """Share out a row's mean chance: first can, last can, those between; a lone can is centre."""
    n = len(chances)
    if n == 1:
        return np.array([0.0, chances[0], 0.0])
    return np.array([chances[0], chances[1:-1].sum(), chances[-1]]) / n
