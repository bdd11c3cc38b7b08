"""The chance of a tip against the kick energy, tabled once from the repeats of a passage."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.chance.rate import log_interval, tips_per_million
from packsim.chance.spectrum import Spectrum
from packsim.line import PLACES

_LEAST = 1e-30
"""A smaller chance is taken from the fall of the curve."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Curve:
    """The chance of a tip, in one stage or on a line, against ln of the kick energy.

    Parameters
    ----------
    log_energy : ndarray, shape (m,)
        ln of the kick energy in mJ, or of a factor on several, from where a chance can be told;
        empty where no can tips.
    spline : object
        Cubic through ln of the chance there.
    error : ndarray, shape (m,)
        Relative spread of the chance, of which the upper end of its 95 % interval is 1.96 off [-].
    share, share_error : ndarray, shape (m, 3)
        Shares of it at the left edge, in the centre and at the right edge, and the relative
        spreads of the chances there.
    stage, duty : str
        The stage and its duty.
    clear_width_mm : float
        Its clear width [mm].
    """

    log_energy: Floats
    spline: Any
    error: Floats
    share: Floats
    share_error: Floats
    stage: str = ""
    duty: str = ""
    clear_width_mm: float = np.nan

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
        """Return the relative spread of the chance [-]."""
        if self.spline is None:
            return np.zeros(np.shape(log_energy))
        found: Floats = np.interp(np.asarray(log_energy), self.log_energy, self.error)
        return found

    def places_at(self, log_energy: float) -> tuple[Floats, Floats]:
        """Return the shares of the places and their relative spreads, shape (3,) each."""
        if self.spline is None:
            return np.zeros(3), np.zeros(3)
        at = int(np.argmin(np.abs(self.log_energy - log_energy)))
        return self.share[at], self.share_error[at]


def curve_of(
    spectrum: Spectrum,
    log_energy: Floats,
    kicks_mJ: Mapping[str, Floats],
    stage: str = "",
    place: str = "",
) -> Curve:
    """Table the chance of a passage, or of a part of it.

    Parameters
    ----------
    spectrum : Spectrum
        Of the passage.
    log_energy : ndarray, shape (m,)
        What it is tabled against, see `Curve`.
    kicks_mJ : mapping of str to ndarray, shape (m,)
        Mean kick energy of every stage there [mJ].
    stage, place : str
        The part; all stages and places by default.

    Returns
    -------
    Curve
        With ``stage`` as given.
    """
    tips = 1e-6 * tips_per_million(spectrum, kicks_mJ)
    tips = (tips[:, [spectrum.stages.index(stage)]] if stage else tips).sum(axis=1)
    if place:
        tips = tips * (np.array(PLACES) == place)[:, None]
    return curve_through(log_energy, tips, stage)


def curve_through(log_energy: Floats, tips: Floats, stage: str = "") -> Curve:
    """Return the curve through the tips a can gets, by repeat, place and energy, (r, 3, m)."""
    from scipy.interpolate import CubicSpline

    told = tips.sum(axis=1).mean(axis=0) > _LEAST
    x, tips = log_energy[told], tips[:, :, told]
    mean, _, _, up = log_interval(tips.sum(axis=1))
    places, _, _, up_places = log_interval(tips)
    return Curve(
        log_energy=x,
        spline=CubicSpline(x, np.log(mean)) if x.size > 1 else None,
        error=up / 1.96,
        share=(places / mean).T,
        share_error=up_places.T / 1.96,
        stage=stage,
    )
