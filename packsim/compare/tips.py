"""Tips of several lines drawn from what is not known of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from packsim.arrays import Floats
from packsim.chance import LineChance, Spectrum
from packsim.chance.rate import log_interval
from packsim.compare.by_slack import BySlack, by_slack
from packsim.compare.common_draws import common_values, drawn
from packsim.line import Scenario

if TYPE_CHECKING:
    from packsim.compare.comparison import Comparison

_ENERGIES: Final = 81
"""Kick energies a chance is worked out at, between the least and the greatest that was drawn."""

_HARDEST_MJ: Final = 1e3

_LEAST: Final = 1e-300

_FLOOR: Final = -30.0
"""ln of a chance too small to tell from none, 1 in 10^13: where a slack tips none it counts so."""


def tip_draws(comparison: Comparison, size: str, rng: np.random.Generator, draws: int) -> Floats:
    """Draw the tips per million cans of every line compared, all stages together.

    Parameters
    ----------
    comparison : Comparison
        The lines, and their chances.
    size : str
        One of its sizes.
    rng : numpy.random.Generator
        Gives the seed.
    draws : int
        How many.

    Returns
    -------
    ndarray, shape (draws, lines)
        Tips per million; nan for a line in which no can fits. Rows go together: a difference or a
        ratio of two columns is a draw of that difference or ratio.

    Notes
    -----
    Carried: the error of the passages a chance comes from; energy and rate of the kicks; the
    slack, by the clear width of every stage and the mean diameter. Each input is drawn from its
    range, the same draw for all lines that take it as the same, so that a difference or ratio is
    better known than either rate. One passage holds every kick energy. For the slack there are two
    more of each line, with all guides in and out (`packsim.compare.by_slack`); between them ln of
    the tips goes straight, and beyond them it stays: lanes are those of the line as it is.

    Not carried: what else of the inputs is not known (mass and centre of gravity, wires and their
    bow, sprays, fill, drift, where the pack enters, which way the rows run), and the model itself.
    """
    seed = int(rng.integers(2**63))
    each = common_values(comparison.lines, seed, draws)
    by_stage = stage_draws(comparison, size, each, seed, draws)
    return np.stack([tips.sum(axis=1) for tips in by_stage], axis=1)


def stage_draws(
    comparison: Comparison,
    size: str,
    each: Sequence[Mapping[str, Floats]],
    seed: int,
    draws: int,
) -> tuple[Floats, ...]:
    """Return the tips per million of each line by its stages, shape (draws, stages).

    ``each`` are the values of the inputs of every line; for seed and draws see `line_draws`.
    """
    found = []
    for line, chance, values in zip(
        comparison.lines, comparison.size(size).chances, each, strict=True
    ):
        if chance.reason:
            found.append(np.full((draws, len(line.stages)), np.nan))
            continue
        found.append(line_draws(line, chance, values, seed, draws))
    return tuple(found)


def line_draws(
    line: Scenario,
    chance: LineChance,
    values: Mapping[str, Floats],
    seed: int,
    draws: int,
    *,
    slack: bool = True,
) -> Floats:
    """Draw the tips per million of one line in which cans fit.

    Parameters
    ----------
    line : Scenario
        The line.
    chance : LineChance
        Its chance.
    values : mapping of str to ndarray, shape (draws,)
        Values of its inputs, from `packsim.compare.common_draws.common_values`.
    seed : int
        Seed of the error of the passages.
    draws : int
        How many.
    slack : bool
        Whether what is not known of the slack is carried too; without it errors of passages are
        standard errors, for a first look.

    Returns
    -------
    ndarray, shape (draws, stages)
        Tips per million.
    """
    at = {place: one.key for one in line.ranges for place in one.places}
    share = chance.spectrum.share
    beside = by_slack(line, chance.size, values, draws) if slack else None
    standing = np.ones((share.size, draws))
    found = np.empty((draws, len(line.stages)))
    for i, stage in enumerate(line.stages):
        kicks, place = stage.kicks, f"stages.{i}.kicks"
        energy = values.get(at.get(f"{place}.energy_mJ", ""), np.full(draws, kicks.energy_mJ))
        often = values.get(at.get(f"{place}.rate_per_s", ""), np.full(draws, kicks.rate_per_s))
        times = often / kicks.rate_per_s if kicks.rate_per_s > 0.0 else np.ones(draws)
        table = _Table(chance.spectrum, i, energy)
        off = drawn(_told(chance.spectrum, i), seed).standard_normal(draws)
        log_tips = table.log_tips + off * (table.error if slack else table.standard_error)
        if beside is not None:
            log_tips = _at_slack(table, beside, i, energy, off)
        kicked = np.where(log_tips > _FLOOR, times * np.exp(log_tips), 0.0)
        tips = table.lanes * (table.sure + kicked)
        found[:, i] = 1e6 * (share @ (standing * -np.expm1(-tips)))
        standing = standing * np.exp(-tips)
    return found


def _told(spectrum: Spectrum, stage: int) -> str:
    """Return a stage's passages in a word, the same whatever version of whatever ran them.

    It is what kicks far harder than any would tip; a digest of the passages would tell the last
    bits of numbers, and which program it was.
    """
    return f"{spectrum.stages[stage]} {spectrum.expected(stage, _HARDEST_MJ).sum():.6g}"


def _at_slack(now: _Table, beside: BySlack, stage: int, energy_mJ: Floats, off: Floats) -> Floats:
    """Return ln of the tips of every draw at its slack, ``off`` by so many of their own errors.

    Where few repeats tip at all the error of their mean is huge: a draw is then no worse than one
    of the same line with more slack, of which more is known.
    """
    slack = beside.slack_mm[stage]
    looser = [(now, slack < 0.0)]
    log_tips, error = now.log_tips, now.error
    for spectrum, way_mm in ((beside.closed, -beside.low_mm), (beside.opened, beside.high_mm)):
        if spectrum is None:
            continue
        other, part = _Table(spectrum, stage, energy_mJ), np.clip(slack / way_mm, 0.0, 1.0)
        log_tips = log_tips + part * (other.log_tips - now.log_tips)
        error = error + part * (other.error - now.error)
        looser += [(other, slack < way_mm)] if way_mm > 0.0 else []
    drawn_tips = log_tips + off * error
    for table, less in looser:
        most = np.maximum(table.log_tips + off * table.error, log_tips)
        drawn_tips = np.where(less & (off > 0.0), np.minimum(drawn_tips, most), drawn_tips)
    return drawn_tips


class _Table:
    """Tips in one stage at the energies of some draws, read off a table of energies.

    ``log_tips``, shape (draws,), is ln of the tips by kicks of a can, mean of lanes and repeats;
    ``sure`` those by jolts of a known energy; ``lanes``, shape (lanes, draws), the tips of a lane
    over that mean; ``error`` the relative error of the mean of the repeats by its interval,
    ``standard_error`` that by their scatter.
    """

    def __init__(self, spectrum: Spectrum, stage: int, energy_mJ: Floats) -> None:
        low, high = max(float(energy_mJ.min()), _LEAST), max(float(energy_mJ.max()), _LEAST)
        grid = np.geomspace(low, max(high, low * 1.001), _ENERGIES)
        by_lane = spectrum.expected(stage, np.array([0.0, *grid])).sum(axis=2)
        by_repeat = np.einsum("rlm,l->rm", by_lane, spectrum.share)
        mean, lanes = by_repeat.mean(axis=0), by_lane.mean(axis=0)
        place = np.log(np.maximum(energy_mJ, _LEAST) / low) / np.log(grid[1] / grid[0])
        left = np.clip(place.astype(np.int64), 0, _ENERGIES - 2)

        def read(table: Floats) -> Floats:
            part = place - left
            return np.asarray(table[..., left] * (1.0 - part) + table[..., left + 1] * part)

        self.sure = float(mean[0])
        self.log_tips = read(np.log(np.maximum(mean[1:] - mean[0], np.exp(_FLOOR))))
        ones = np.ones_like(lanes[:, 1:])
        self.lanes = read(np.divide(lanes[:, 1:], mean[1:], out=ones, where=mean[1:] > 0.0))
        _, standard, _, up = log_interval(by_repeat)
        self.standard_error, self.error = read(standard[1:]), read(up[1:] / 1.96)
