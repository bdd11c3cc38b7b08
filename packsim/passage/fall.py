"""What there is to see of a tip: the room the can had, who gave way, and how it went over."""

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.can import Stance
from packsim.passage.going_down import room_of, stopped_rad
from packsim.passage.laid import SortedPack, laid_pack
from packsim.passage.record import Event
from packsim.passage.state import State
from packsim.passage.tip import chain_of
from packsim.passage.tipped import down_rad
from packsim.passage.track import Track
from packsim.tipping.falling import Leaners, Swing, swing
from packsim.tipping.rocking import can_rocker


@dataclass(frozen=True, slots=True, eq=False)
class Fall:
    """How one can went over.

    Parameters
    ----------
    event : Event
        The tip.
    cans : ndarray of int64, shape (n,)
        Numbers of the cans that lean, itself first.
    leaners : Leaners
        Those cans as they stood.
    swing : Swing
        Lean of the can from the kick on.
    """

    event: Event
    cans: Ints
    leaners: Leaners
    swing: Swing

    def leans_rad(self, time_s: float) -> Floats:
        """Return the leans of its cans a time after the kick, shape (n,) [rad]."""
        return np.asarray(self.leaners.leans_rad(np.array([self.swing.at(time_s)]))[0])


def seen_through(state: State, track: Track) -> tuple[SortedPack, Ints]:
    """Return the pack of a state to be looked through, and the stage of each can."""
    low, high, stage = track.limits_mm(state.station_mm, state.radius_mm)
    return laid_pack(state, track.standing.height_mm, low, high, closed=stage < 0), stage


def room_then(state: State, track: Track, event: Event) -> tuple[float, float]:
    """Return the gap that a can had in the direction of its fall, and the safe one, at a moment.

    Parameters
    ----------
    state : State
        The pack at that moment, the can still standing in it.
    track : Track
        The line.
    event : Event
        Its tip.

    Returns
    -------
    gap_mm, safe_mm : float
        As in `Event`.
    """
    laid, stage = seen_through(state, track)
    can = int(np.searchsorted(state.id, event.can))
    return room_of(laid, track, can, event.direction_rad, max(int(stage[can]), 0))


def fall_of(state: State, track: Track, event: Event, stance: Stance) -> Fall:
    """Return how a can went over.

    Parameters
    ----------
    state : State
        The pack just before the step in which it tipped.
    track : Track
        The line.
    event : Event
        The tip.
    stance : Stance
        A can as it stands in that stage, for its moment of inertia.

    Returns
    -------
    Fall
        Until something stops it: on its neighbours or the guide it leans as far as a can that
        leans there, whatever becomes of it afterwards. The mat carries it on unturned, and its
        sprays are those of the place where it was kicked: a fall lasts some tenths of a second.
    """
    laid, stages = seen_through(state, track)
    can, direction = int(np.searchsorted(state.id, event.can)), event.direction_rad
    chain, before = chain_of(laid, track, can, direction, event.stage)
    turned = np.full(chain.size, direction)
    balance, energy = track.standing.load.at(laid.station_mm[chain], state.y_mm[chain], turned)
    leaners = Leaners(
        balance_rad=balance,
        energy_mJ=energy,
        before_mm=before,
        height_mm=track.standing.height_mm,
        inertia_kg_mm2=can_rocker(stance).inertia_kg_mm2,
        righting_N_mm=stance.weight_N * stance.arm_mm,
    )
    one = slice(0, 1)
    stop = stopped_rad(laid, track, chain[one], turned[one], stages[chain[one]])
    end = down_rad("leans", float(stop[0]), float(balance[0]))
    # the passage sums the same energies in its own order: a digit may be another
    kick = max(event.energy_mJ, 1.000001 * float(leaners.work_mJ(balance[one])[0]))
    return Fall(event, state.id[chain], leaners, swing(leaners, kick, end))
