"""What is kept of a passage: frames to look at, events, and counts by stage and place."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats, Ints, Singles
from packsim.errors import InputError, non_negative, one_of
from packsim.line import PLACES

ROLES = ("snug", "some room", "much room", "could go over", "tipped")
"""What a can is free to do, by its own lean (its neighbours taken as rigid).

``snug``: it cannot lean at all; ``some room``: at most its tip angle over the safety factor;
``much room``: at most its tip angle; ``could go over``: its gap lets it past that; ``tipped``: it
is down. None of them is a verdict on a stage.
"""

NOT_ASKED = 255
"""Role of a standing can of a frame whose lean nobody asked for; its lean is nan."""


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Every can at one moment, in arrays of one length n; read-only by convention.

    Parameters
    ----------
    time_s : float
        Time since the passage began [s].
    travel_mm : float
        How far the mat has moved since then [mm].
    x_mm, y_mm : ndarray of float32, shape (n,)
        Centres: along the line from its upstream end, across from the mat's left edge [mm]. In a
        periodic slice x is the place in the slice, and ``station_mm`` the place on the line.
    radius_mm : ndarray of float32, shape (n,)
        Radii [mm].
    lean_rad : ndarray of float32, shape (n,)
        Greatest lean the can is free to take by itself; of a tipped can the lean it is down at:
        less than a right angle while others prop it up, that where it lies flat or is gone [rad].
    direction_rad : ndarray of float32, shape (n,)
        Direction of that lean, or the one a tipped can fell in: 0 along travel, +π/2 to the
        right [rad].
    role : ndarray of uint8, shape (n,)
        Index into `ROLES`, or `NOT_ASKED`.
    id : ndarray of uint32, shape (n,)
        The can's number, in the order the cans came.
    station_mm : float
        Place on the line of a periodic slice [mm]; 0 for a whole line.
    """

    time_s: float
    travel_mm: float
    x_mm: Singles
    y_mm: Singles
    radius_mm: Singles
    lean_rad: Singles
    direction_rad: Singles
    role: NDArray[np.uint8]
    id: NDArray[np.uint32]
    station_mm: float = 0.0

    def __len__(self) -> int:
        return int(self.x_mm.shape[0])

    def __post_init__(self) -> None:
        if len(shapes := {getattr(self, name).shape for name in FRAME_ARRAYS}) != 1:
            raise InputError("frame", sorted(shapes), "arrays of one length")

    @property
    def nbytes(self) -> int:
        """Memory its arrays take [byte]."""
        return int(sum(getattr(self, name).nbytes for name in FRAME_ARRAYS))


FRAME_ARRAYS = ("x_mm", "y_mm", "radius_mm", "lean_rad", "direction_rad", "role", "id")


@dataclass(frozen=True, slots=True)
class Event:
    """One can tipped.

    Parameters
    ----------
    time_s : float
        When [s].
    can : int
        The can's number.
    stage : int
        Index of the stage.
    place : {"left edge", "centre", "right edge"}
        Where across the mat.
    x_mm, y_mm : float
        Where its centre was: along the line, across from the mat's left edge [mm].
    direction_rad : float
        Direction it fell in, 0 along travel, +π/2 to the right [rad].
    energy_mJ, needed_mJ : float
        Energy of the kick, and what it took to tip the can there and then [mJ].
    mat_mm : float
        Where it stood on the mat, which does not move with time [mm].
    beside : int
        Number of the tipped can it stood beside, the first of them; −1 where none was there.
    gap_mm, safe_mm : float
        Gap it had there in the direction it fell in, to the next can or to the guide, and the
        largest that would have stopped it before its balance point; both 0 in a record of before
        they were kept [mm]. Where the gap is smaller those in the way leaned too.
    """

    time_s: float
    can: int
    stage: int
    place: str
    x_mm: float
    y_mm: float
    direction_rad: float
    energy_mJ: float
    needed_mJ: float
    mat_mm: float = 0.0
    beside: int = -1
    gap_mm: float = 0.0
    safe_mm: float = 0.0

    def __post_init__(self) -> None:
        non_negative("time_s", self.time_s)
        non_negative("stage", self.stage)
        one_of("place", self.place, PLACES)


@dataclass(frozen=True, slots=True)
class Jam:
    """A stage in which the cans could not be brought free of each other.

    Parameters
    ----------
    stage : int
        Index of the stage that is too narrow: where the worst overlap is, or next after it, as
        cans pile up before a narrow place.
    since_s : float
        When it was first seen [s].
    overlap_mm : float
        Worst overlap left there while it lasted [mm].
    """

    stage: int
    since_s: float
    overlap_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """The pack along the line, averaged over the frames taken; arrays of one length m.

    Parameters
    ----------
    station_mm : ndarray, shape (m,)
        Middles of the windows along the line [mm].
    clear_width_mm : ndarray, shape (m,)
        Guide face to guide face [mm].
    slack_mm : ndarray, shape (m,)
        Clear width less the mean width the cans take up across it [mm]; nan where no can was.
    void_fraction : ndarray, shape (m,)
        Share of the strip between the guides that no can covers [-].
    largest_gap_mm : ndarray, shape (m,)
        Mean over the rows of the widest single gap across the mat [mm].
    """

    station_mm: Floats
    clear_width_mm: Floats
    slack_mm: Floats
    void_fraction: Floats
    largest_gap_mm: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """One passage, finished or interrupted.

    Parameters
    ----------
    size, seed, version, scenario : str or int
        Name of the can size, seed of the randomness, version of the program, and the scenario's
        text as the caller gave it.
    stages : tuple of str
        Names of the k stages.
    bounds_mm : tuple of float
        The k + 1 stage boundaries along the line [mm].
    station_mm, left_mm, right_mm : ndarray, shape (m,)
        The guide faces along the line, from the mat's left edge [mm].
    frames : tuple of Frame
        In time order.
    interval_s : float
        Time between frames, after any thinning out [s].
    events : tuple of Event
        Every can that tipped, in time order.
    tipped : ndarray of int64, shape (k, 3)
        Cans tipped by stage and `PLACES`.
    kicks : ndarray of int64, shape (k, 3)
        Kicks given by stage and `PLACES`.
    across : ndarray of int64, shape (k, b)
        Standing cans by stage and share of the free clear width, 0 touching the left guide, 1 the
        right, summed over the frames taken.
    cans_in, cans_out, on_mat : int
        Cans fed, discharged, and still there; tipped cans are among them.
    time_s, dt_s : float
        Length of the passage and of one step [s].
    tolerance_mm, max_overlap_mm : float
        Overlap the relaxation aims at, and the worst it left anywhere at any time [mm].
    first_counted, counted : int
        Number of the first can whose whole way from infeed to discharge is in the record, and how
        many cans from it on are; cans that stood on the line at the start are not.
    unsettled : int
        Steps that ended above the tolerance.
    jams : tuple of Jam
        Stages that stayed above ten times the tolerance for a second.
    profile : Profile or None
        Mean slack and void along the line; None without a frame.
    slice_mm : float
        Length of the periodic slice, 0 for a whole line [mm].
    interrupted : bool
        Whether the user stopped it before its end.
    reason : str
        Why no can could be fed, or empty.
    waiting : int
        Cans the infeed could not place because the pack was held up before it.
    """

    size: str
    seed: int
    version: str
    scenario: str
    stages: tuple[str, ...]
    bounds_mm: tuple[float, ...]
    station_mm: Floats
    left_mm: Floats
    right_mm: Floats
    frames: tuple[Frame, ...]
    interval_s: float
    events: tuple[Event, ...]
    tipped: Ints
    kicks: Ints
    across: Ints
    cans_in: int
    cans_out: int
    on_mat: int
    time_s: float
    dt_s: float
    tolerance_mm: float
    max_overlap_mm: float
    first_counted: int = 0
    counted: int = 0
    unsettled: int = 0
    jams: tuple[Jam, ...] = ()
    profile: Profile | None = None
    slice_mm: float = 0.0
    interrupted: bool = False
    reason: str = ""
    waiting: int = 0

    @property
    def counted_tips(self) -> Ints:
        """Tips of the counted cans alone, by stage and `PLACES`, shape (k, 3)."""
        table = np.zeros_like(self.tipped)
        for event in self.events:
            if 0 <= event.can - self.first_counted < self.counted:
                table[event.stage, PLACES.index(event.place)] += 1
        return table
