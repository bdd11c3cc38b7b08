"""Chance of a tip against kick energy, tabled once so that a fit costs next to nothing."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.trial.stage_case import StageCase

_LOWEST: Final = 1.0 / 60.0
"""Least kick energy tabled, in energies of a can tipping alone; e⁻⁶⁰ is never seen."""

_HIGHEST: Final = 1e4
"""Most kick energy tabled, alike: there every kick that finds a gap tips, the curve is level."""

_POINTS: Final = 160


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """Logarithm of the mean chance over a row against ln of the kick energy.

    Parameters
    ----------
    case : StageCase
        The stage and setting it belongs to.
    low_log, high_log : float
        Ends of the table, ln of mJ.
    spline : object or None
        Cubic through the table; None where the chance is 0, or does not depend on the kicks.
    level : float
        The value where there is no spline: −inf, or 0 where the sprays alone tip every can.
    """

    case: StageCase
    low_log: float = 0.0
    high_log: float = 0.0
    spline: Any = None
    level: float = -np.inf

    @property
    def never(self) -> bool:
        """Whether no kick energy tips a can."""
        return self.spline is None and self.level == -np.inf

    @property
    def says_nothing(self) -> bool:
        """Whether the chance is the same for every kick energy."""
        return self.spline is None

    def log_chance(self, log_energy: ArrayLike) -> Floats:
        """Return ln of the chance that a can is tipped in the stage, mean over the row.

        Parameters
        ----------
        log_energy : array_like
            Logarithm of the kick energy in mJ.

        Returns
        -------
        ndarray
            Below the table the chance falls as exp(−A/E_k).
        """
        x = np.asarray(log_energy, dtype=np.float64)
        if self.spline is None:
            return np.full(x.shape, self.level)
        inside = np.clip(x, self.low_log, self.high_log)
        value: Floats = np.asarray(self.spline(inside), dtype=np.float64)
        fall = float(self.spline(self.low_log, 1))  # d ln p / d ln E = A / E there
        below = np.minimum(x - self.low_log, 0.0)
        return value - fall * np.expm1(-below)


@lru_cache(maxsize=1024)
def curve_of(case: StageCase, sharing: str = "spread") -> Curve:
    """Table the chance of one stage case.

    Parameters
    ----------
    case : StageCase
        The stage at its clear width.
    sharing : {"spread", "gathered"}
        How slack lies in a row.

    Returns
    -------
    Curve
        Good to about 1e-6 of the chance between a sixtieth and ten thousand times the energy that
        tips one can alone.
    """
    from scipy.interpolate import CubicSpline

    row = case.row
    if row is None or case.why_never:
        return Curve(case)
    alone = float(row.energy_mJ(np.array(row.reach_mm)))
    if alone <= 0.0:
        level = float(np.mean(case.log_chances(np.ones(1), sharing)))
        return Curve(case, level=level)
    x = np.linspace(np.log(alone * _LOWEST), np.log(alone * _HIGHEST), _POINTS)
    logs = case.log_chances(np.exp(x), sharing)
    mean = np.logaddexp.reduce(logs, axis=1) - np.log(logs.shape[1])
    if not np.all(np.isfinite(mean)):
        return Curve(case)
    return Curve(case, float(x[0]), float(x[-1]), CubicSpline(x, mean))
