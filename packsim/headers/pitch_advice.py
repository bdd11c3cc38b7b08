"""What is asked of a new header, and the advice on its pitch."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.errors import InputError, non_negative, positive
from packsim.nozzles.drilling import Drilling
from packsim.nozzles.pitch import ExactPitch, PitchChoice, pitch_curve

MARGIN_MM: Final = 1.0
"""Default allowance of the band of pitches: about what a bracket is set to."""

_MOST_BEYOND: Final = 20  # nozzles beyond each end: more is a typing error


@dataclass(frozen=True, slots=True)
class PitchWish:
    """What is asked of a new header.

    Parameters
    ----------
    low_mm, high_mm : float, optional
        Range of pitches; `packsim.headers.pitch` says what is taken when omitted [mm].
    weights : mapping of str to float
        How much a millimetre matters for a size, by name; 1 for those not named [-].
    allowance_mm : float
        How much worse than best the band of pitches may be [mm].
    tolerance_mm : float
        Plus/minus of a hole's place [mm].
    pitch_mm : float, optional
        Pitch to drill; the best one of the range when omitted [mm].
    beyond : int
        Nozzles beyond the outermost lanes at each end, so that the edge lanes are washed from both
        sides as the others are.
    """

    low_mm: float | None = None
    high_mm: float | None = None
    weights: Mapping[str, float] | None = None
    allowance_mm: float = MARGIN_MM
    tolerance_mm: float = 0.5
    pitch_mm: float | None = None
    beyond: int = 0

    def __post_init__(self) -> None:
        for key in ("low_mm", "high_mm", "pitch_mm"):
            value = getattr(self, key)
            if value is not None:
                positive(key, value)
        non_negative("allowance_mm", self.allowance_mm)
        non_negative("tolerance_mm", self.tolerance_mm)
        if not 0 <= self.beyond <= _MOST_BEYOND:
            raise InputError("beyond", self.beyond, f"0 to {_MOST_BEYOND} nozzles at each end")


@dataclass(frozen=True, slots=True, eq=False)
class SizeLines:
    """Can lines of one size, its guides set so that the pack just touches.

    Parameters
    ----------
    can : Can
        The size.
    lanes : int
        Lanes that stand between the guides as they are set.
    line_pitch_mm : float
        Distance of neighbouring lines [mm].
    lines_mm : ndarray, shape (lanes,)
        From the mat's left edge, about the middle of the pass [mm].
    alone : PitchChoice
        The best pitch of the range for this size alone.
    exact : tuple of ExactPitch
        Pitches of the range in a small whole-number ratio to its lines.
    """

    can: Can
    lanes: int
    line_pitch_mm: float
    lines_mm: Floats
    alone: PitchChoice
    exact: tuple[ExactPitch, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One pitch and what it means for every size.

    Parameters
    ----------
    what : str
        Why it is looked at: ``best``, ``longer``, ``today``, ``own`` line pitch or ``asked``.
    size : str
        The size whose own line pitch it is, or empty.
    pitch_mm : float
        The pitch [mm].
    count : int
        Nozzles a header needs to reach from the first to the last lane of every size.
    worst_mm, rms_mm : ndarray, shape (s,)
        Misalignment of each size at its own best shift [mm].
    even : ndarray, shape (s,)
        Least uniformity over the lanes that today's nozzles would give each size, drilled at this
        pitch in their headers (`least_evenness`); nan where no stage has a header [-].
    """

    what: str
    size: str
    pitch_mm: float
    count: int
    worst_mm: Floats
    rms_mm: Floats
    even: Floats


@dataclass(frozen=True, slots=True, eq=False)
class PitchAdvice:
    """The pitch for stages whose packs have the same lines.

    Parameters
    ----------
    stages : tuple of str
        Their names.
    sizes : tuple of SizeLines
        What must be served.
    weights : tuple of float
        Weight of each size [-].
    low_mm, high_mm : float
        Range looked at [mm].
    best : PitchChoice
        Best pitch of the range over all sizes.
    candidates : tuple of Candidate
        The best first, then longer ones that need fewer nozzles, the sizes' own line pitches, and
        today's.
    drilling : Drilling
        Holes for the best pitch, or for the one asked for.
    allowance_mm : float
        Allowance of the band [mm].
    """

    stages: tuple[str, ...]
    sizes: tuple[SizeLines, ...]
    weights: tuple[float, ...]
    low_mm: float
    high_mm: float
    best: PitchChoice
    candidates: tuple[Candidate, ...]
    drilling: Drilling
    allowance_mm: float

    @property
    def lines_by_size_mm(self) -> list[Floats]:
        """Can lines of each size [mm]."""
        return [size.lines_mm for size in self.sizes]

    def curve(self, pitches_mm: Floats) -> Floats:
        """Weighted worst misalignment of each size at each pitch, shape (p, s) [mm]."""
        return pitch_curve(self.lines_by_size_mm, pitches_mm, np.array(self.weights))
