"""The chance of a tip at the settings of trials: each setting one passage, for any kick energy."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from packsim.answers.misfit import check_fits
from packsim.chance import LineChance, chance_of
from packsim.chance.curve import Curve, curve_of
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.line.knobs import with_kick_energy

_NEGLIGIBLE: Final = 1e-3
"""A duty that adds less than this share of the tips is not named as assumed."""

_ENERGIES_MJ: Final = np.geomspace(1e-5, 10.0, 201)
"""Kick energies looked at: a can that stands free needs 0.3 to 1 mJ to tip."""

Progress = Callable[[float, int], None]


@dataclass(slots=True)
class Chances:
    """Chances of a line at its settings, each asked for once.

    Parameters
    ----------
    scenario : Scenario
        The line as the trials found it.
    progress : callable, optional
        Told of every passage.
    """

    scenario: Scenario
    progress: Progress | None = None
    _found: dict[tuple[str, tuple[float, ...]], LineChance] = field(
        default_factory=dict, init=False
    )
    _curves: dict[tuple[str, tuple[float, ...]], tuple[Curve, ...]] = field(
        default_factory=dict, init=False
    )

    def at(self, size: str, widths_mm: Sequence[float]) -> LineChance:
        """Return the chance with the clear widths of every stage [mm]."""
        key = size, tuple(float(width) for width in widths_mm)
        if key not in self._found:
            self._found[key] = chance_at(self.scenario, *key, self.progress)
        return self._found[key]

    def curves(self, size: str, widths_mm: Sequence[float]) -> tuple[Curve, ...]:
        """Return a curve for every stage."""
        key = size, tuple(float(width) for width in widths_mm)
        if key not in self._curves:
            self._curves[key] = curves_of(self.scenario, self.at(*key), key[1])
        return self._curves[key]


def line_at(scenario: Scenario, widths_mm: Sequence[float]) -> Scenario:
    """Return a line with its guides at a clear width for every stage [mm]; equal ones stay."""
    if len(widths_mm) != len(scenario.stages):
        raise InputError("widths_mm", len(widths_mm), f"{len(scenario.stages)}, one for each stage")
    pairs = zip(scenario.stages, widths_mm, strict=True)
    return scenario.with_stages(
        tuple(s if s.guides.narrowest_mm == w else s.with_clear_width(w) for s, w in pairs)
    )


def with_kicks(scenario: Scenario, kicks_mJ: Mapping[str, float]) -> Scenario:
    """Return a line with other mean kick energies at some stages [mJ]."""
    return scenario.with_stages(
        tuple(with_kick_energy(s, kicks_mJ.get(s.name, s.kicks.energy_mJ)) for s in scenario.stages)
    )


def chance_at(
    scenario: Scenario, size: str, widths_mm: Sequence[float], progress: Progress | None = None
) -> LineChance:
    """Return the chance of a line set to a clear width for every stage [mm].

    Raises `InputError` if a width does not hold the cans the infeed brings.
    """
    line = line_at(scenario, widths_mm)
    check_fits(line, size, "guides")
    return chance_of(line, size, progress=progress)


def assumed_duties(
    scenario: Scenario, found: Sequence[LineChance], fitted: Collection[str]
) -> tuple[str, ...]:
    """Return duties without a fitted energy that add tips in any of some chances of a line."""
    adds = dict.fromkeys(
        stage.duty
        for one in found
        for stage, here in zip(scenario.stages, one.stages, strict=True)
        if here.tips_per_million > _NEGLIGIBLE * one.tips_per_million
    )
    return tuple(duty for duty in adds if duty not in fitted)


def curves_of(
    scenario: Scenario, found: LineChance, widths_mm: Sequence[float]
) -> tuple[Curve, ...]:
    """Table the chance of every stage against its kick energy, all from one passage."""
    curves = []
    for stage, width in zip(scenario.stages, widths_mm, strict=True):
        alone, kicks = found.spectrum.only(stage.name), {stage.name: _ENERGIES_MJ}
        curve = curve_of(alone, np.log(_ENERGIES_MJ), kicks, stage.name)
        curves.append(replace(curve, duty=stage.duty, clear_width_mm=float(width)))
    return tuple(curves)
