"""What must hold of a pack at every moment, counted and measured here by other means."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from packsim.passage.record import Event
from packsim.passage.relax import TOLERANCE_MM
from packsim.passage.state import State
from packsim.passage.tipped import FLAT, GONE, lying_discs
from packsim.passage.track import Track
from tests.oracles.overlaps import worst_overlap_mm

USUAL_MOVE_MM = 0.2
"""How far a kick moves a can where nobody says otherwise [mm]."""

_ROUNDING_MM = 1e-6
_DIRECTIONS = np.linspace(-np.pi, np.pi, 9)


@dataclass
class Watch:
    """What one passage has shown so far."""

    track: Track
    steps: int = 0
    unsettled: int = 0
    worst_mm: float = 0.0
    tipped: set[int] = field(default_factory=set)
    by_stage: Counter[int] = field(default_factory=Counter)

    def counts(self, state: State, events: Sequence[Event]) -> Iterator[str]:
        """Say what is wrong with the counts after a step."""
        self.steps += 1
        self.unsettled += state.overlap_mm > TOLERANCE_MM
        self.worst_mm = max(self.worst_mm, state.overlap_mm)
        if state.cans_in != state.cans_out + len(state):
            yield f"{state.cans_in} in, {state.cans_out} out, {len(state)} on the mat"
        for event in events:
            if event.can in self.tipped:
                yield f"can {event.can} tipped twice"
            self.tipped.add(event.can)
            self.by_stage[event.stage] += 1
            if not 0.0 <= event.needed_mJ < event.energy_mJ < np.inf:
                yield f"a tip at {event.energy_mJ} mJ that needed {event.needed_mJ} mJ"
        if not np.isfinite(state.overlap_mm) or state.overlap_mm < 0.0:
            yield f"an overlap of {state.overlap_mm}"

    def pack(self, state: State) -> Iterator[str]:
        """Say what is wrong with the cans on the mat."""
        if np.unique(state.id).size != len(state):
            yield "two cans of one number"
        if len(state) and not 0 <= state.id.min() <= state.id.max() < state.cans_in:
            yield "a can that never came in"
        arrays = (state.place_mm, state.radius_mm, state.fell_rad, state.span_mm)
        if not all(np.isfinite(one).all() for one in arrays):
            yield "a place that is no number"
            return
        yield from self._down(state)
        yield from self._apart(state)
        yield from self._energies(state)

    def _down(self, state: State) -> Iterator[str]:
        """Who is down has tipped, and is down as its stage has it; who tipped does not stand."""
        down = set(state.id[state.tipped].tolist())
        here = self.tipped & set(state.id.tolist())
        if down != here:
            yield f"cans {sorted(down ^ here)[:5]} are down and have not tipped, or the other way"
        table = [self.by_stage[i] for i in range(len(self.track.stages))]
        if state.tips.sum(axis=1).tolist() != table:
            yield f"tips by stage {state.tips.sum(axis=1).tolist()}, seen {table}"
        ways = set(self.track.tipped)
        rad = state.down_rad[state.tipped]
        if "leaves a hole" not in ways and (rad == GONE).any():
            yield "a can is gone where none may go"
        if ways == {"leaves a hole"} and not (rad == GONE).all():
            yield "a tipped can is still in the way"
        if ways == {"leans"} and not ((rad > 0.0) & (rad <= FLAT)).all():
            yield "a can leans beyond flat"

    def _apart(self, state: State) -> Iterator[str]:
        """No two discs overlap by more than the state says, by another search, nor any guide."""
        more, owner = lying_discs(state.place_mm, state.down_rad, state.fell_rad, state.span_mm)
        place = np.append(state.place_mm, more)
        body = np.append(np.arange(len(state)), owner)
        radius = state.radius_mm[body]
        low, high, _ = self.track.limits_mm(state.stations_mm(place), radius)
        there = state.down_rad[body] != GONE
        out = np.maximum(low - place.imag, place.imag - high)[there & (low <= high)]
        # beyond the guides only discs of a lying can may be, by what its body could not be turned
        # a can pushed on along a funnel is between the guides of where it was; kicks push it so far
        far = max(1.0, float(self.track.shaking.step_mm.max()) / USUAL_MOVE_MM)
        most = TOLERANCE_MM * far + (state.overlap_mm if owner.size else 0.0)
        if out.size and out.max() > most:
            yield f"a can {out.max():.4f} mm beyond a guide"
        overlap = worst_overlap_mm(state)
        if overlap > max(state.overlap_mm, TOLERANCE_MM) + _ROUNDING_MM:
            yield f"an overlap of {overlap:.4f} mm, told as {state.overlap_mm:.4f} mm"

    def _energies(self, state: State) -> Iterator[str]:
        """What tips a can is an energy above 0, and the angle to it one below a right angle."""
        at, y = state.station_mm, state.y_mm
        for direction in _DIRECTIONS:
            towards = np.full(len(state), direction)
            balance, energy = self.track.standing.load.at(at, y, towards)
            if not ((energy >= 0.0) & np.isfinite(energy)).all():
                yield f"an energy of {energy.min()} mJ"
            if not ((balance >= 0.0) & (balance < FLAT)).all():
                yield f"a balance angle of {balance.min()} rad"

    def room(self) -> Iterator[str]:
        """Cans with room along and across, moved a little, are brought apart nearly always."""
        lie = "lies across" in self.track.tipped and self.tipped
        if lie or self.steps < 100:
            return
        if self.worst_mm > 10.0 * TOLERANCE_MM or self.unsettled > 0.1 * self.steps:
            yield f"overlap up to {self.worst_mm:.3f} mm, {self.unsettled} of {self.steps} steps"
