"""Values of inputs drawn from their ranges: from shares of what is possible to values."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np

from packsim.arrays import Floats
from packsim.line import Scenario
from packsim.line.input_range import InputRange

_SURE = 1e-9  # nearest a share may be to 0 or 1: a normal value is then six deviations out


def at_shares(one: InputRange, shares: Floats) -> Floats:
    """Return the values of an input below which it lies with some shares.

    Parameters
    ----------
    one : InputRange
        The input.
    shares : ndarray
        From 0 to 1 [-].

    Returns
    -------
    ndarray
        Even from low to high; normal about the value, low and high two standard deviations apart
        from it; of a choice, each word alike.

    Examples
    --------
    >>> even = InputRange("mat.width", 5.0, 0.0, 10.0, "given", "common practice, no source")
    >>> at_shares(even, np.array([0.0, 0.25, 1.0])).tolist()
    [0.0, 2.5, 10.0]
    """
    if one.shape == "choice":
        return np.minimum(np.floor(shares * len(one.choices)), len(one.choices) - 1.0)
    if one.shape == "even":
        return np.asarray(one.low + shares * (one.high - one.low))
    normal = NormalDist(one.value, (one.high - one.low) / 4.0)
    sure = np.clip(shares, _SURE, 1.0 - _SURE).ravel().tolist()
    return np.reshape([normal.inv_cdf(share) for share in sure], np.shape(shares))


def values_at(inputs: Sequence[InputRange], shares: Floats) -> dict[str, Floats]:
    """Return values of inputs by key from shares of what is possible, shape (inputs, n)."""
    return {one.key: at_shares(one, row) for one, row in zip(inputs, shares, strict=True)}


def rng_of(scenario: Scenario, stage: str, size: str, seed: int) -> np.random.Generator:
    """Return the generator of one stage and size: what else is asked about does not matter."""
    i = scenario.stages.index(scenario.stage(stage))
    return np.random.default_rng([seed, i, scenario.sizes.index(scenario.size(size))])
