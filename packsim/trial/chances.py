"""The chance of a tip at the settings of trials: each setting one passage, for any kick energy."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.answers.misfit import check_fits
from packsim.arrays import Floats
from packsim.chance import LineChance, Spectrum, chance_of
from packsim.errors import InputError
from packsim.line import Scenario, Stage
from packsim.line.knobs import with_kick_energy

NEGLIGIBLE: Final = 1e-3
"""A duty that adds less than this share of the tips is not named as assumed."""

_ENERGIES_MJ: Final = np.geomspace(1e-5, 10.0, 201)
"""Kick energies looked at: a can that stands free needs 0.3 to 1 mJ to tip."""

_LEAST: Final = 1e-30
"""A smaller chance is taken from the fall of the curve."""

Progress = Callable[[float, int], None]


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """The chance of a tip in one stage at one setting against ln of the kick energy.

    Parameters
    ----------
    stage, duty : str
        The stage and its duty.
    clear_width_mm : float
        Its clear width at the setting [mm].
    log_energy : ndarray, shape (m,)
        ln of the kick energy in mJ, from where a chance can be told; empty where no can tips.
    spline : object
        Cubic through ln of the chance there.
    error : ndarray, shape (m,)
        Relative standard error of the chance, from the repeats of the passage [-].
    share, share_error : ndarray, shape (m, 3)
        Shares of it at the left edge, in the centre and at the right edge, and the relative
        standard errors of the chances there.
    """

    stage: str
    duty: str
    clear_width_mm: float
    log_energy: Floats
    spline: Any
    error: Floats
    share: Floats
    share_error: Floats

    @property
    def never(self) -> bool:
        """Whether no kick energy tips a can here."""
        return self.spline is None

    @property
    def says_nothing(self) -> bool:
        """Whether the chance is the same for every kick energy: none, or jolts alone tip cans."""
        return self.never or float(np.ptp(self.spline(self.log_energy))) < 1e-6

    def log_chance(self, log_energy: ArrayLike) -> Floats:
        """Return ln of the chance; below the table it falls as exp(−A/E_k), above it is level."""
        x = np.asarray(log_energy, dtype=np.float64)
        if self.spline is None:
            return np.full(x.shape, -np.inf)
        low, high = float(self.log_energy[0]), float(self.log_energy[-1])
        value: Floats = np.asarray(self.spline(np.clip(x, low, high)), dtype=np.float64)
        fall = max(0.0, float(self.spline(low, 1)))  # d ln p / d ln E = A / E there
        return value - fall * np.expm1(np.maximum(low - x, 0.0))

    def error_at(self, log_energy: ArrayLike) -> Floats:
        """Return the relative standard error of the chance [-]."""
        if self.spline is None:
            return np.zeros(np.shape(log_energy))
        found: Floats = np.interp(np.asarray(log_energy), self.log_energy, self.error)
        return found

    def places_at(self, log_energy: float) -> tuple[Floats, Floats]:
        """Return the shares of the places and their relative standard errors, shape (3,) each."""
        if self.spline is None:
            return np.zeros(3), np.zeros(3)
        at = int(np.argmin(np.abs(self.log_energy - log_energy)))
        return self.share[at], self.share_error[at]


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
    check_fits(scenario, size, widths_mm, "guides")
    return chance_of(line, size, progress=progress)


def curves_of(
    scenario: Scenario, found: LineChance, widths_mm: Sequence[float]
) -> tuple[Curve, ...]:
    """Table the chance of every stage against its kick energy, all from one passage."""
    return tuple(
        _curve(found.spectrum, stage, float(width))
        for stage, width in zip(scenario.stages, widths_mm, strict=True)
    )


def _curve(spectrum: Spectrum, stage: Stage, width_mm: float) -> Curve:
    from scipy.interpolate import CubicSpline
    from scipy.special import stdtrit

    each = spectrum.expected(stage.name, _ENERGIES_MJ)
    tips = each.sum(axis=2)
    once = np.divide(-np.expm1(-tips), tips, out=np.ones_like(tips), where=tips > 0.0)
    places = np.einsum("rlpm,rlm,l->rpm", each, once, spectrum.share)
    chance = places.sum(axis=1)
    told = chance.mean(axis=0) > _LEAST
    if not told.any():
        empty = np.empty(0)
        none = {"share": np.empty((0, 3)), "share_error": np.empty((0, 3))}
        return Curve(stage.name, stage.duty, width_mm, empty, None, error=empty, **none)
    places, chance = places[:, :, told], chance[:, told]
    wide = float(stdtrit(spectrum.repeats - 1, 0.975)) / 1.96 / np.sqrt(spectrum.repeats)
    x = np.log(_ENERGIES_MJ[told])
    mean = places.mean(axis=0)
    errors = wide * places.std(axis=0, ddof=1) / np.maximum(mean, 1e-300)
    return Curve(
        stage=stage.name,
        duty=stage.duty,
        clear_width_mm=width_mm,
        log_energy=x,
        spline=CubicSpline(x, np.log(chance.mean(axis=0))),
        error=wide * chance.std(axis=0, ddof=1) / chance.mean(axis=0),
        share=(mean / mean.sum(axis=0)).T,
        share_error=errors.T,
    )
