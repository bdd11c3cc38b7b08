"""The fit of a view to the gaps of neighbours: what holds it, where it ends, how sure it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats, Ints
from packsim.look.photo.camera import no_camera
from packsim.look.photo.gap_shapes import CLASSES, likely
from packsim.look.photo.lower_edges import LEAST_PAIRS, by_lower_edges
from packsim.look.photo.rectify import view_of

_LONG_ERROR: Final = 1e-3
"""Least error of long lengths as a share, for what no model of rims has in it: as rendered."""

_ERROR_OFF: Final = 0.25
"""How far off that may be, as the log of a factor."""

_RIMS_ERROR: Final = 0.006
"""Rims are not believed to be better than that, even where their edges look sharp: at a pixel and a
half to a mm all edges do."""

_HOLD: Final = np.array([1.0, 1.0, 1.0, 0.5, 0.5, 0.0])
_LEAST_HOLD: Final = np.array([0.0, 0.0, 0.0, 0.006, 0.006, 0.012])
"""Errors of the rims' six numbers, as multiples of that of their size and at least: perspective and
lens by rims were as far from the true ones in pictures of seed 7001."""

_OWN: Final = 0.4
"""Pairs count for so much of one. Each can has two places and three pairs, cans of a row move
together, and no mixture is the gaps' own spread. Tuned with the next one on 43 pictures of seeds
901 and 902: errors over stated errors have there a root mean square of 0.8."""

_BEGINNING: Final = 0.06
"""Where gaps begin is known to that share of the median gap, however many there are: the error of
the model, which has the smallest gaps rarer or more frequent than they are."""

_FARTHEST: Final = 8.0
"""So many errors off rims is nothing sought."""

_LEAST_CURVE: Final = 0.7
"""Where the likelihood bends less than what holds it, as between two of its tops, it is taken to
bend by that."""

_LENGTH_ERROR: Final = 3e-4
"""Of a known length between two points that were pointed at, as a share of it."""

_ALIKE: Final = 0.012
"""Distances of which eight in ten lie within this share of a diameter are all alike."""

_APART: Final = 2.0
"""So many errors of rims larger than a diameter they are of no cans that touch."""


class Best(NamedTuple):
    """Where gaps are likeliest, in units of the fit: its covariance, how unlikely, who touches."""

    at: Floats
    cov: Floats
    unlikely: float
    share: float


class GapFit(NamedTuple):
    """The numbers by rims, and what else they are fitted to."""

    numbers: Floats
    size_px: tuple[int, int]
    centres_px: Floats
    pairs: Ints
    kind: Ints
    how: tuple[float, float, float]
    lengths: tuple[tuple[Floats, float], ...]

    @property
    def diameter_mm(self) -> float:
        """Of a can."""
        return self.how[0]

    @property
    def rims_error(self) -> float:
        """Error of the size of rims as a share of it."""
        return self.how[1]

    @property
    def error_mm(self) -> float:
        """Error of a distance."""
        return self.how[2]

    def gaps(self, numbers: Floats, grown: float) -> Floats:
        """Distances of pairs less the diameter [mm], then known lengths' errors, as shares."""
        view = view_of(numbers, self.size_px)
        at = view.to_mm(self.centres_px)
        apart = at[self.pairs[:, 1]] - at[self.pairs[:, 0]]
        off = np.hypot(apart[:, 0], apart[:, 1]) - self.diameter_mm * grown
        known = [math.dist(*view.to_mm(ends)) / true - 1.0 for ends, true in self.lengths]
        return np.concatenate((off, known))

    def steps(self) -> Floats:
        """Size of each number: of the first three the scale, of the others one."""
        a, _, c = self.numbers[:3]
        return np.array([abs(a), abs(a), abs(c), 1.0, 1.0, 1.0])

    def slopes(self, numbers: Floats, grown: float) -> Floats:
        """Change of the gaps with the numbers, in their steps, and with the growth."""
        now, steps = self.gaps(numbers, grown), self.steps()
        columns = []
        for i in range(6):
            moved = numbers.copy()
            moved[i] += 1e-5 * steps[i]
            columns.append((self.gaps(moved, grown) - now) / 1e-5)
        to_length = np.where(np.arange(len(now)) < len(self.pairs), 0.0, 1.0)
        scaled = np.where(np.arange(6) < 3, grown, 1.0)
        return np.column_stack((np.transpose(columns) * scaled, (now + to_length) / grown))

    def held(self) -> Floats:
        """Errors of the six numbers by rims, in steps, and that of the growth: units of a fit."""
        rims = np.maximum(_HOLD * max(self.rims_error, _RIMS_ERROR), _LEAST_HOLD)
        return np.append(rims, 0.05 if self.lengths else 1e-9)

    def starts(self) -> list[Floats]:
        """Where fits begin: at what rims say, and at what the lower edges say."""
        steps, held = self.steps(), self.held()
        first = by_lower_edges(self.numbers, self.size_px, self.centres_px, self.diameter_mm)
        begun = np.clip((first - self.numbers) / steps / held[:6], -3.0, 3.0)
        return [np.zeros(8), np.append(begun, (0.0, 0.0))]

    def improved(self, starts: Sequence[Floats], *, exactly: bool) -> Best:
        """Return where gaps are likeliest of all ends that are come to from some starts."""
        from scipy.optimize import minimize

        asked = ~self.drawn_apart()[self.kind]

        def unlikely(x: Floats) -> tuple[float, Floats]:
            return self._unlikely(x, asked, exactly)

        how = {"jac": True, "method": "BFGS", "options": {"maxiter": 60, "gtol": 0.05}}
        best = min((minimize(unlikely, x, **how) for x in starts), key=lambda end: float(end.fun))
        x = np.append(np.clip(best.x[:7], -_FARTHEST, _FARTHEST), best.x[7])
        curve = np.array(
            [unlikely(x + move)[1] - unlikely(x - move)[1] for move in 0.02 * np.eye(len(x))]
        )
        values, ways = np.linalg.eigh((curve + curve.T) / 0.08)
        cov = ways / np.maximum(values, _LEAST_CURVE) @ ways.T  # no less sure than held
        off = self.gaps(*self.view_at(x))[: len(self.pairs)]
        touch = likely(off, self.kind, self._error(x), exactly=exactly).touch
        share = float(np.mean(touch)) if len(touch) else math.nan
        return Best(x, cov, float(best.fun), share)

    def view_at(self, x: Floats) -> tuple[Floats, float]:
        """Return the numbers and the growth at a place of the fit: rims grow with the cans."""
        moved = np.clip(x[:7], -_FARTHEST, _FARTHEST) * self.held()
        grown = 1.0 + float(moved[6])
        return (self.numbers + moved[:6] * self.steps()) * ([grown] * 3 + [1.0] * 3), grown

    def _error(self, x: Floats) -> float:
        return self.error_mm * math.exp(_ERROR_OFF * float(np.clip(x[7], -_FARTHEST, _FARTHEST)))

    def _unlikely(self, x: Floats, asked: Bools, exactly: bool) -> tuple[float, Floats]:
        """Return the log likelihood, negative, of numbers, growth and error, and its slopes."""
        (numbers, grown), p = self.view_at(x), len(self.pairs)
        gaps, slopes = self.gaps(numbers, grown), self.slopes(numbers, grown) * self.held()
        told = likely(gaps[:p][asked], self.kind[asked], self._error(x), exactly=exactly)
        known = gaps[p:] / _LENGTH_ERROR
        log = _OWN * told.log - 0.5 * float(known @ known + x @ x)
        by = _OWN * told.by_off @ slopes[:p][asked] - known / _LENGTH_ERROR @ slopes[p:]
        off, by_number = self.no_camera(numbers)
        by[:6] -= by_number * self.held()[:6]
        return off - log, x - np.append(by, _OWN * _ERROR_OFF * told.by_error)

    def no_camera(self, numbers: Floats) -> tuple[float, Floats]:
        """Return how unlikely the view is as that of a camera, and its change with the numbers."""
        now, by = no_camera(numbers, self.size_px), np.zeros(6)
        for i, step in enumerate(1e-6 * self.steps()[:5]):
            moved = numbers.copy()
            moved[i] += step
            by[i] = (no_camera(moved, self.size_px) - now) / 1e-6
        return now, by

    def beginning(self, numbers: Floats, grown: float) -> float:
        """Error of where gaps begin as a share of a diameter; a known length has none of it."""
        if self.lengths:
            return 0.0
        gaps = self.gaps(numbers, grown)
        of_each = [gaps[self.kind == c] for c in range(CLASSES)]
        wide = [float(np.median(of)) for of in of_each if len(of) >= LEAST_PAIRS]
        # cans that touch in one direction say nothing of where the gaps of another begin
        return _BEGINNING * max([0.0, *wide]) / self.diameter_mm

    def drawn_apart(self) -> Bools:
        """Return in which directions pairs are all equally far apart, and rims say: not touching.

        Then the lower edge is that of a lattice drawn apart, which only rims can tell from one
        that touches. What grows evenly over the picture is the view's.
        """
        off = self.gaps(self.numbers, 1.0)[: len(self.pairs)]
        apart = np.zeros(CLASSES, dtype=np.bool_)
        middles = self.centres_px[self.pairs].mean(axis=1)
        for c in range(CLASSES):
            of = off[self.kind == c]
            if len(of) >= LEAST_PAIRS:
                x, y = (middles[self.kind == c].T.T - middles.mean(axis=0)).T / max(self.size_px)
                terms = np.column_stack((np.ones(len(of)), x, y, x * x, x * y, y * y))
                left = of - terms @ np.linalg.lstsq(terms, of, rcond=None)[0]
                low, high = np.quantile(left, (0.1, 0.9))
                apart[c] = (
                    high - low < _ALIKE * self.diameter_mm
                    and np.median(of) > _APART * self.rims_error * self.diameter_mm
                )
        return apart

    def long_error(self, numbers: Floats, grown: float, cov: Floats) -> float:
        """Error of the longest lengths seen, in four directions, the largest as a share.

        ``cov`` is that of the numbers and the growth, in units of the fit.
        """
        steps, found = self.steps() * np.where(np.arange(6) < 3, grown, 1.0), [_LONG_ERROR]
        cov = cov * np.outer(self.held(), self.held())
        at = view_of(numbers, self.size_px).to_mm(self.centres_px)
        for way in math.pi / 4.0 * np.arange(4):
            along = at @ np.array([math.cos(way), math.sin(way)])
            ends = self.centres_px[[int(np.argmin(along)), int(np.argmax(along))]]
            lengths = [math.dist(*view_of(numbers, self.size_px).to_mm(ends))]
            for i in range(6):
                moved = numbers.copy()
                moved[i] += 1e-5 * steps[i]
                lengths.append(math.dist(*view_of(moved, self.size_px).to_mm(ends)))
            slope = (np.array(lengths[1:]) - lengths[0]) / (1e-5 * lengths[0])
            slope = np.append(slope, 1.0 / grown)
            found.append(math.sqrt(max(float(slope @ cov @ slope), 0.0)))
        return max(found)
