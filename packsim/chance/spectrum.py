"""The barrier spectrum: how often, in a passage in which nothing tips, a kick would have needed E.

The mean energy of the kicks is in none of it, so one spectrum holds the chance of a tip for all:
it is the Laplace transform of the weights at 1/E_k.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats, Ints
from packsim.errors import InputError, positive
from packsim.passage import PLACES

if TYPE_CHECKING:
    from scipy.sparse import csr_array

STEP = 0.01
"""Width of a bin in ln E. Each weight is shared between the two bins beside it so that its mean
energy stays; that makes a chance too large by the share (STEP·E/E_k)²/12 on average and /8 at most:
under 0.8 % for E = 25 E_k, which is one tip in 10^9 cans of a hundred kicks."""

FLOOR_MJ = 1e-4
"""Energy of the first bin: less than this counts as this [mJ]."""

CEILING = 20.0
"""A barrier above this many times the energy that tips a can alone where nothing sprays counts as
infinite. Left out is at most exp(−20 alone/E_k) of the kicks: of a hundred kicks a can below 10^-6
tips for E_k up to that energy."""

GRID_MJ: Floats = FLOOR_MJ * np.exp(STEP * np.arange(1600))
"""Energies of the bins, up to 880 mJ [mJ]."""


SURE = GRID_MJ.size
"""Column behind the bins: tips by jolts of a known energy, whatever the kicks are."""


def shared_out(energy_mJ: Floats, weight: ArrayLike) -> tuple[Ints, Floats]:
    """Share weights between the bins beside their energies.

    Parameters
    ----------
    energy_mJ : ndarray, shape (n,)
        Finite energies [mJ].
    weight : array_like, shape (n,) or ()
        Their weights.

    Returns
    -------
    bin : ndarray of int64, shape (2n,)
        Lower bins, then upper bins.
    weight : ndarray, shape (2n,)
        Shares of the weights; their sum and their mean energy are those of the input.
    """
    energy = np.clip(energy_mJ, FLOOR_MJ, GRID_MJ[-1])
    low = np.log(energy / FLOOR_MJ) / STEP
    low = np.clip(low.astype(np.int64), 0, GRID_MJ.size - 2)
    upper = weight * (energy - GRID_MJ[low]) / (GRID_MJ[low + 1] - GRID_MJ[low])
    return np.concatenate((low, low + 1)), np.concatenate((weight - upper, upper))


@dataclass(frozen=True, slots=True, eq=False)
class Spectrum:
    """Barrier spectra of some repeats of one passage.

    Parameters
    ----------
    stages : tuple of str
        Names of the k stages.
    share : ndarray, shape (l,)
        Share of the cans that stand in each lane, from the left [-].
    weights : tuple of csr_array, shape (r · l · 3, bins + 1)
        For each stage the kicks a can of the lane gets that would have to bring the energy of the
        bin, by repeat, lane and `packsim.passage.PLACES`; then the tips as of `SURE`.
    """

    stages: tuple[str, ...]
    share: Floats
    weights: tuple[csr_array, ...]

    @property
    def repeats(self) -> int:
        """Number of repeats."""
        return int(self.weights[0].shape[0]) // (self.share.size * len(PLACES))

    @staticmethod
    def of(
        stages: tuple[str, ...], share: Floats, each: Iterable[tuple[csr_array, ...]]
    ) -> Spectrum:
        """Return the spectrum of repeats, each given as its weights by stage."""
        from scipy.sparse import vstack  # heavy to import: few commands run passages

        weights = tuple(vstack(rows, format="csr") for rows in zip(*each, strict=True))
        return Spectrum(stages, share, weights)

    def only(self, stage: str) -> Spectrum:
        """Return the spectrum of one stage, as if no can had tipped before it."""
        return Spectrum((stage,), self.share, (self.weights[self.stages.index(stage)],))

    def expected(self, stage: int | str, kicks_mJ: ArrayLike, rate: float = 1.0) -> Floats:
        """Return the tips a can would get in a stage if it could tip more than once.

        Parameters
        ----------
        stage : int or str
            Which stage.
        kicks_mJ : array_like, shape (m,)
            Mean kick energies, 0 or more [mJ].
        rate : float
            Kick rate as a multiple of the scenario's [-].

        Returns
        -------
        ndarray, shape (r, l, 3, m)
            Λ = Σ weight · exp(−E/E_k) by repeat, lane and place.
        """
        kicks = np.atleast_1d(np.asarray(kicks_mJ, dtype=np.float64))
        if not np.all(kicks >= 0.0):
            raise InputError("kicks_mJ", kicks.min(), "energies of 0 or more")
        with np.errstate(divide="ignore"):
            chance = positive("rate", rate) * np.exp(-GRID_MJ[:, None] / kicks)
        weights = self.weights[self.stages.index(stage) if isinstance(stage, str) else stage]
        tips: Floats = weights @ np.vstack((chance, np.ones(kicks.size)))
        return tips.reshape(self.repeats, self.share.size, len(PLACES), kicks.size)

    def tips(self, kicks_mJ: Mapping[str, ArrayLike], rate: float = 1.0) -> Floats:
        """Return the chance that a can tips, by repeat, stage, lane and place.

        Parameters
        ----------
        kicks_mJ : mapping of str to array_like, shape (m,)
            Mean kick energies of every stage [mJ].
        rate : float
            Kick rate as a multiple of the scenario's [-].

        Returns
        -------
        ndarray, shape (r, k, l, 3, m)
            A can that has tipped, earlier in the stage or in a stage before, tips no more: with
            Λ_l its lane's tips a can, 1 − exp(−Λ_l) of those still standing.
        """
        expected = np.stack([self.expected(s, kicks_mJ[s], rate) for s in self.stages], axis=1)
        lane = expected.sum(axis=3)
        standing = np.exp(lane - np.cumsum(lane, axis=1))
        with np.errstate(invalid="ignore"):
            once = np.where(lane > 0.0, -np.expm1(-lane) / lane, 1.0)
        return np.asarray(expected * (standing * once)[:, :, :, None])
