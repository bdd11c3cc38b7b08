"""What there is to see of kicks: how a can went over, with what room, and how others rock."""

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.can import Can, Stance
from packsim.pack.near import list_near
from packsim.passage.going_down import chain_of, room_of, stopped_rad
from packsim.passage.kicks import draw_kicks
from packsim.passage.laid import SortedPack, laid_pack
from packsim.passage.record import ROLES, Event, Frame
from packsim.passage.seen import looked_over
from packsim.passage.state import State, no_counts
from packsim.passage.tipped import FLAT, down_rad
from packsim.passage.track import Track
from packsim.tipping.falling import Leaners, Swing, rocked_rad, swing
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


def state_of(frame: Frame, track: Track) -> State:
    """Return a pack as a frame has it, to look at how a can of it fell; it cannot be carried on.

    Parameters
    ----------
    frame : Frame
        Of a whole line.
    track : Track
        The line.

    Returns
    -------
    State
        Places to the digits of the frame. A tipped can that lies flat is taken to lie at its whole
        length; what a frame does not tell of those that are gone is lost.
    """
    place = (frame.x_mm.astype(float) - frame.travel_mm) + 1j * frame.y_mm.astype(float)
    radius = frame.radius_mm.astype(float)
    down = np.where(frame.role == ROLES.index("tipped"), frame.lean_rad, 0.0).astype(float)
    down[down > FLAT - 1e-3] = FLAT
    whole = max(0.0, track.standing.height_mm - track.diameter_mm)
    return State(
        place_mm=place,
        radius_mm=radius,
        id=frame.id.astype(np.int64),
        down_rad=down,
        fell_rad=frame.direction_rad.astype(float),
        span_mm=np.where(down == FLAT, whole, 0.0),
        near=list_near(place, radius),
        kicks=no_counts(len(track.stages)),
        tips=no_counts(len(track.stages)),
        time_s=frame.time_s,
        travel_mm=frame.travel_mm,
    )


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


@dataclass(frozen=True, slots=True, eq=False)
class Rocks:
    """How the cans of a stretch rock that the kicks of one step did not tip; arrays of shape (n,).

    Parameters
    ----------
    can : ndarray of int64
        Their numbers; one that was kicked twice is there twice.
    direction_rad, kick_mJ : ndarray
        Direction and energy of each kick [rad], [mJ].
    balance_rad, energy_mJ : ndarray
        Balance angle and energy to it, where each stands in that direction [rad], [mJ].
    room_rad : ndarray
        Lean at which it meets somebody, all others standing [rad].
    inertia_kg_mm2 : ndarray
        Moment of inertia about the rim, with the water of its stage [kg mm²].
    """

    can: Ints
    direction_rad: Floats
    kick_mJ: Floats
    balance_rad: Floats
    energy_mJ: Floats
    room_rad: Floats
    inertia_kg_mm2: Floats

    def leans_rad(self, time_s: float) -> Floats:
        """Return how far each leans a time after the kick, shape (n,) [rad]."""
        time = np.full(self.can.shape, time_s)
        stands = self.balance_rad, self.energy_mJ
        return rocked_rad(time, self.kick_mJ, *stands, self.room_rad, self.inertia_kg_mm2)


def rocks_of(
    state: State,
    track: Track,
    can: Can,
    dt_s: float,
    rng: np.random.Generator,
    stretch_mm: tuple[float, float],
) -> Rocks:
    """Return how the cans of a stretch rock by the kicks of a step.

    Parameters
    ----------
    state : State
        The pack before the step.
    track : Track
        The line.
    can : Can
        The size on it, for its moment of inertia.
    dt_s : float
        Length of the step [s].
    rng : Generator
        In the state in which the step began: its kicks are drawn again.
    stretch_mm : tuple of float
        Both ends of the stretch, along the line [mm].

    Returns
    -------
    Rocks
        Neighbours taken as standing: a can is seen to lean as far as the first that it meets.
    """
    looked = looked_over(state, track)
    kicked = draw_kicks(track, looked.ladder, looked.station_mm, state.tipped, dt_s, rng)
    at = looked.station_mm.take(kicked.can)
    here = np.flatnonzero((at >= stretch_mm[0]) & (at < stretch_mm[1]))
    who, where, direction = kicked.can[here], kicked.stage[here], kicked.direction_rad[here]
    laid, _ = seen_through(state, track)
    balance, energy = track.standing.load.at(at[here], state.y_mm.take(who), direction)
    inertia = np.array(
        [can_rocker(can.stance(share)).inertia_kg_mm2 for share in track.standing.water_in_dome]
    )
    return Rocks(
        can=state.id.take(who),
        direction_rad=direction,
        kick_mJ=kicked.energy_mJ[here],
        balance_rad=balance,
        energy_mJ=energy,
        room_rad=stopped_rad(laid, track, who, direction, where),
        inertia_kg_mm2=inertia.take(where),
    )
