"""Which inputs the scatter of an answer comes from: Sobol' indices of inputs and of measurements.

Every input is drawn from its range at once. The first index of an input is the share of the
variance that goes once it is known; the total index the share that stays when it alone is not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from packsim.answers.answer_inputs import InputAnswers
from packsim.arrays import Floats
from packsim.doubt.action import Action
from packsim.doubt.confidence import values_at
from packsim.doubt.tornado import InputSwing, bounded_index
from packsim.line.input_range import InputRange

OUTCOMES: Final = (
    "tip_index",
    "safe_slack_mm",
    "loosest_slack_mm",
    "window_width_mm",
    "slack_left_mm",
)
"""What the indices are of, besides the verdict: of `packsim.doubt.tornado.QUANTITIES`, and the
slack left: allowed less worst-case slack."""

CASES: Final = 512
"""Cases drawn twice, a power of two; each input and each measurement asks for as many more."""

_SCREENED: Final = 0.02  # of the largest swing: what swings less by itself is taken together
_MOST_INPUTS: Final = 12
_RESAMPLED: Final = 100  # times, for the errors
_DECIMALS: Final = 12  # of a share: what is less is left over from the sums and differs by version
REST: Final = "all others"
"""Name of the inputs that hardly swing anything by themselves, taken together."""


@dataclass(frozen=True, slots=True)
class Share:
    """Share of an input, or of some together, in the scatter of each outcome and of the verdict.

    Parameters
    ----------
    name : str
        Key of the input, or what it is.
    first, total : tuple of float
        First and total index of each of `OUTCOMES`, and last of the verdict [-]; 0 where nothing
        scatters.
    first_low, first_high, total_low, total_high : tuple of float
        Their 95 % intervals, by bootstrap [-].
    """

    name: str
    first: tuple[float, ...]
    total: tuple[float, ...]
    first_low: tuple[float, ...]
    first_high: tuple[float, ...]
    total_low: tuple[float, ...]
    total_high: tuple[float, ...]

    @property
    def indices(self) -> dict[str, dict[str, float | tuple[float, float]]]:
        """First and total index with their intervals, by outcome and of the verdict."""
        return {
            name: {
                "first": self.first[k],
                "first_interval": (self.first_low[k], self.first_high[k]),
                "total": self.total[k],
                "total_interval": (self.total_low[k], self.total_high[k]),
            }
            for k, name in enumerate((*OUTCOMES, "verdict"))
        }


def shares(
    near: InputAnswers,
    swings: Sequence[InputSwing],
    verdict: str,
    rng: np.random.Generator,
    *,
    actions: Sequence[Action] = (),
    cases: int = CASES,
) -> tuple[tuple[Share, ...], tuple[Share, ...]]:
    """Return the shares of the inputs, and of what each of some actions would settle.

    Parameters
    ----------
    near : InputAnswers
        The stage and the size.
    swings : sequence of InputSwing
        Its tornado: inputs that swing little by themselves are taken together.
    verdict : str
        The verdict whose doubt is shared out: it stands, or it does not.
    rng : numpy.random.Generator
        Draws the cases.
    actions : sequence of Action
        Measurements to ask about.
    cases : int
        As `CASES`.

    Returns
    -------
    inputs, settled : tuple of Share
        The largest share in the tip index first; and by action, those that settle an input which
        swings more than a little.

    Notes
    -----
    [saltelli2010]_ as in `scipy.stats.sobol_indices`. A measurement is a group of inputs: each is
    drawn anew within what can be known of it afterwards, so what the measurement leaves open is
    not counted as settled.
    """
    inputs = near.inputs
    chosen = screened(swings)
    columns = {one.key: [one.key] for one in chosen}
    rest = [one.key for one in inputs if one.key not in columns]
    columns |= {REST: rest} if rest else {}
    useful = [one for one in actions if any(one.settled(each.key) for each in chosen)]
    first, other = _pairs(inputs, rng, cases)
    looked = [values_at(inputs, first), values_at(inputs, other)]
    for keys in columns.values():
        looked.append(looked[0] | {key: looked[1][key] for key in keys})
    looked += [_measured(one, inputs, looked[0], looked[1], rng) for one in useful]
    told = _outcomes(near, looked, verdict, cases)
    found = _indices([*columns, *(one.name for one in useful)], told, rng)
    return tuple(found[: len(columns)]), tuple(found[len(columns) :])


def screened(swings: Sequence[InputSwing]) -> list[InputRange]:
    """Return the inputs whose swing alone is worth a share of its own, the largest first."""
    if not swings:
        return []
    of = np.array([[one.swing(name) for name in OUTCOMES[:4]] for one in swings])
    of = np.where(np.isfinite(of), of, np.nanmax(np.where(np.isfinite(of), of, 0.0), axis=0))
    share = (of / np.maximum(of.max(axis=0), 1e-12)).max(axis=1)
    order = np.argsort(-share, kind="stable")[:_MOST_INPUTS]
    return [swings[k].input for k in order.tolist() if share[k] >= _SCREENED]


def _pairs(
    inputs: Sequence[InputRange], rng: np.random.Generator, cases: int
) -> tuple[Floats, Floats]:
    """Two independent sets of shares of what is possible, shape (inputs, cases) each."""
    from scipy.stats import qmc  # heavy to import, needed here alone

    if not inputs:
        return np.zeros((0, cases)), np.zeros((0, cases))
    drawn = qmc.Sobol(2 * len(inputs), rng=rng).random(cases).T
    return drawn[: len(inputs)], drawn[len(inputs) :]


def _measured(
    action: Action,
    inputs: Sequence[InputRange],
    values: Mapping[str, Floats],
    others: Mapping[str, Floats],
    rng: np.random.Generator,
) -> dict[str, Floats]:
    """Values with what an action settles taken from the others, as nearly as it can be known.

    Two values that one reading allows differ by two errors of reading.
    """
    found = dict(values)
    for one in inputs:
        settled = action.settled(one.key)
        if settled is not None:
            within, told = settled.within_of(one), others[one.key]
            errors = rng.uniform(-within, within, (2, len(told)))
            read = np.clip(told + errors[0] - errors[1], one.low, one.high)
            found[one.key] = told if one.choices else read
    return found


def _outcomes(
    near: InputAnswers, looked: Sequence[Mapping[str, Floats]], verdict: str, cases: int
) -> Floats:
    """Outcomes of all cases, and whether the verdict stands, shape (looked, outcomes, cases)."""
    keys = [one.key for one in near.inputs]
    found = near.answers({key: np.concatenate([each[key] for each in looked]) for key in keys})
    left = found.allowed_slack_mm - found.loosest_slack_mm
    told = [bounded_index(found), *(getattr(found, name) for name in OUTCOMES[1:4]), left]
    told.append((found.verdict == verdict).astype(np.float64))
    if not keys:
        told = [np.resize(one, len(looked) * cases) for one in told]
    return np.stack(told).reshape(len(told), len(looked), cases).transpose(1, 0, 2)


def _indices(names: Sequence[str], told: Floats, rng: np.random.Generator) -> list[Share]:
    """Return the indices of each column from the outcomes of both sets and of every mixed one."""
    from scipy.stats import sobol_indices

    if not names:
        return []
    one, other, mixed = told[0], told[1], told[2:]
    spread = one.std(axis=1) > 1e-9 * np.maximum(1.0, np.abs(one).max(axis=1))
    outcomes = len(spread)
    found = np.zeros((6, outcomes, len(names)))
    if spread.any():
        given: dict[str, Any] = {"f_A": one[spread], "f_B": other[spread]}
        given["f_AB"] = mixed[:, spread]
        got = sobol_indices(func=given, n=one.shape[1])
        errors = _resampled(one[spread], other[spread], mixed[:, spread], rng)
        like = errors[0].shape  # of one outcome scipy drops the axis
        orders = got.first_order.reshape(like), got.total_order.reshape(like)
        all_told = np.array([*orders, *errors])
        with np.errstate(over="ignore"):  # a resample of nearly one value alone has no index
            rounded = np.round(all_told, _DECIMALS) + 0.0
        found[:, spread] = np.where(np.isfinite(rounded), rounded, all_told)
    return [
        Share(name, *(tuple(each[:, k].tolist()) for each in found)) for k, name in enumerate(names)
    ]


def _resampled(
    one: Floats, other: Floats, mixed: Floats, rng: np.random.Generator
) -> tuple[Floats, ...]:
    """Return the ends of 95 % intervals of first and total indices, cases drawn again and again.

    The estimators are those of `scipy.stats.sobol_indices`, ratios of means: every resample is a
    weight on each case, and all of them are taken at once.
    """
    cases, middle = one.shape[1], (one + other).mean(axis=1, keepdims=True) / 2.0
    one, other, mixed = one - middle, other - middle, mixed - middle
    weights = rng.multinomial(cases, np.full(cases, 1.0 / cases), _RESAMPLED) / cases
    both = (one + other) / 2.0, (one**2 + other**2) / 2.0
    mean, square = (each @ weights.T for each in both)
    spread = np.maximum(square - mean**2, 1e-300)
    first = (other * (mixed - one)) @ weights.T / spread
    total = 0.5 * (one - mixed) ** 2 @ weights.T / spread
    ends = (np.quantile(each, end, axis=-1).T for each in (first, total) for end in (0.025, 0.975))
    return tuple(ends)
