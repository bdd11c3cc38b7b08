"""Peers of one step of the passage: an impulse engine, and plain numpy with a KD-tree."""

from __future__ import annotations

import time
from itertools import pairwise
from typing import Any

import numpy as np
import pymunk
import pymunk.batch
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from tests.bench.scenes import DT_S, Scene

TOLERANCE_MM = 0.02
MOST_STEPS = 60
FIELDS = pymunk.batch.BodyFields

Places = NDArray[np.complex128]


class Shaken:
    """The cans of a scene, given the kicks and the drift of one step of time after the other.

    The mat stands still and nothing comes or goes: that part of our step is not asked of a peer.
    """

    def __init__(self, scene: Scene) -> None:
        state, track = scene.state, scene.track
        station = state.station_mm
        self.radius, self.place = state.radius_mm.copy(), state.place_mm.copy()
        self.low, self.high, stage = track.limits_mm(station, self.radius)
        shaking = track.shaking
        self.rate = shaking.rate_per_s(stage, station)
        self.move = np.append(shaking.step_mm, 0.0)[stage]
        self.drift = np.append(shaking.drift_mm_per_s, 0.0)[stage] * DT_S
        self.rng = np.random.default_rng(7)

    def shake(self) -> None:
        size = self.place.size
        kicks = np.sqrt(self.rng.poisson(self.rate * DT_S)) * self.move
        self.place += kicks * (self.rng.normal(size=size) + 1j * self.rng.normal(size=size))
        self.place.imag += self.drift

    def overlap_mm(self) -> float:
        """Worst overlap of two cans or of a can and a guide."""
        points = np.column_stack((self.place.real, self.place.imag))
        reach = 2.0 * float(self.radius.max())
        pairs = cKDTree(points).query_pairs(reach, output_type="ndarray")
        apart = np.abs(self.place[pairs[:, 0]] - self.place[pairs[:, 1]])
        over = self.radius[pairs].sum(axis=1) - apart
        out = np.maximum(self.low - self.place.imag, self.place.imag - self.high)
        return float(max(over.max(initial=0.0), out.max()))


class Impulse(Shaken):
    """pymunk: cans as circles, guides as segments, overlaps taken back as fast as it can.

    Moving the cans by their kicks and looking the overlaps up are not on its bill.
    """

    def __init__(self, scene: Scene, *, spatial_hash: bool) -> None:
        super().__init__(scene)
        self.space = pymunk.Space(threaded=False)
        # at rest before every step; the whole of an overlap is to go in one step
        self.space.damping = self.space.collision_slop = self.space.collision_bias = 0.0
        if spatial_hash:
            self.space.use_spatial_hash(2.0 * float(self.radius.max()), 2 * self.place.size)
        for at, radius in zip(self.place, self.radius, strict=True):
            body = pymunk.Body(1.0, 1e6)
            body.position = at.real, at.imag
            self.space.add(body, pymunk.Circle(body, float(radius)))
        track, still = scene.track, self.space.static_body
        x = track.station_mm - scene.state.travel_mm
        for face, side in ((track.left_mm, -1.0), (track.right_mm, 1.0)):
            wall = shapely.LineString(np.column_stack((x, face + 50.0 * side))).simplify(0.005)
            corners = list(wall.coords)
            for a, b in pairwise(corners):
                self.space.add(pymunk.Segment(still, a, b, 50.0))
        self.space.step(DT_S)

    def _all(self) -> Places:
        """Where all bodies are, in the order they were added; the guides' own body is one."""
        buffer = pymunk.batch.Buffer()
        pymunk.batch.get_space_bodies(self.space, FIELDS.BODY_ID | FIELDS.POSITION, buffer)
        number = np.frombuffer(buffer.int_buf(), dtype=np.int64)
        self.can = number != self.space.static_body.id
        return np.frombuffer(buffer.float_buf()).view(np.complex128).copy()

    def _read(self) -> None:
        self.place = self._all()[self.can]

    def _write(self) -> None:
        places = self._all()
        places[self.can] = self.place
        buffer = pymunk.batch.Buffer()
        buffer.set_float_buf(places.view(np.float64))
        pymunk.batch.set_space_bodies(self.space, FIELDS.POSITION, buffer)

    def round(self) -> tuple[float, float]:
        """Time of one step of its own, and of as many as leave no overlap beyond ours [ms]."""
        self._read()
        self.shake()
        self._write()
        spent: list[float] = []
        while len(spent) < MOST_STEPS:
            begin = time.process_time()
            self.space.step(DT_S)
            spent.append(1e3 * (time.process_time() - begin))
            self._read()
            if self.overlap_mm() <= TOLERANCE_MM:
                break
        return spent[0], sum(spent)


class ByTree(Shaken):
    """numpy with scipy's KD-tree: pairs near contact, then accelerated steps down ½ Σ overlap²."""

    margin_mm = 0.5
    gain = 0.4

    def round(self) -> float:
        """Time of one step, until no overlap is beyond ours [ms]."""
        self.shake()
        begin = time.process_time()
        np.clip(self.place.imag, self.low, self.high, out=self.place.imag)
        reach = 2.0 * float(self.radius.max()) + self.margin_mm
        points = np.column_stack((self.place.real, self.place.imag))
        tree = cKDTree(points, balanced_tree=False, compact_nodes=False)
        pairs = tree.query_pairs(reach, output_type="ndarray")
        first, second = (np.ascontiguousarray(side) for side in pairs.T)
        total = self.radius[first] + self.radius[second]
        self._descend(first, second, total)
        return 1e3 * (time.process_time() - begin)

    def _descend(self, first: Any, second: Any, total: NDArray[np.float64]) -> None:
        here, before, weight = self.place, self.place, 1.0
        aimed = (
            total + TOLERANCE_MM
        )  # as far beyond contact as a pair may stay short of it, as ours
        for _ in range(400):
            heavier = (1.0 + (1.0 + 4.0 * weight * weight) ** 0.5) / 2.0
            ahead = here + ((weight - 1.0) / heavier) * (here - before)
            vector = ahead.take(second) - ahead.take(first)
            square = vector.real**2 + vector.imag**2
            touch = np.flatnonzero(square < aimed * aimed)
            apart, wanted = np.sqrt(square[touch]), aimed[touch]
            push = vector[touch] * (self.gain * (wanted / apart - 1.0))
            cans = np.concatenate((second[touch], first[touch]))
            both = np.concatenate((push, -push))
            moved = ahead.copy()
            moved.real += np.bincount(cans, both.real, moved.size)
            moved.imag += np.bincount(cans, both.imag, moved.size)
            np.clip(moved.imag, self.low, self.high, out=moved.imag)
            if (wanted - apart).max(initial=0.0) <= 2.0 * TOLERANCE_MM:
                break
            uphill = ((ahead - moved) * (moved - here).conj()).real.sum() > 0.0
            weight = 1.0 if uphill else heavier
            before, here = here, moved
        self.place = moved
