"""What is asked of new headers, and what may not be as drawn."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from packsim.errors import InputError, between, non_negative, one_of, positive
from packsim.line import SIDES, Header

AIMS: Final = ("dose", "distance")
"""What is made best: the worst lane's dose for a litre, or the distance of lanes from nozzles."""


@dataclass(frozen=True, slots=True)
class DesignWish:
    """What is asked of new headers.

    Parameters
    ----------
    aim : {"dose", "distance"}
        What is made best.
    side : {"", "above", "below"}
        Only the headers of one side.
    fewest, most : int, optional
        Nozzles of a header; as few as can give enough and as many as today when omitted.
    pitch_mm : float, optional
        Nozzle pitch, where only one is wanted [mm].
    stagger : bool
        Whether headers of one side may be drilled aside of each other.
    uneven : bool
        Whether to look at unequal spacing too.
    wander_mm : float, optional
        How far the pack may ride off its place, either way; half its slack and half a setting step
        when omitted [mm].
    tolerance_mm : float
        Plus/minus of a hole's place [mm].
    pipe_mm : tuple of float, optional
        Ends of the pipe, to which no hole comes nearer than to another; the mat's edges when
        omitted [mm]. See `packsim.headers.row_search.APART_MM`.
    weights : mapping of str to float
        How much a loss counts for a size, by name; 1 for those not named [-].
    least_dose : float
        What the worst lane of each size must get, over what it gets today [-].
    least_hold : float, optional
        Hold margin that must be left to every can [-].
    nozzle_cost : float, optional
        Cost of one nozzle with its hole, in any money.
    changes : mapping of str to float or str
        Fields of the header and its nozzle that shall differ from today's, by name: pressure,
        stand-off, pattern, angle, flow.
    """

    aim: str = "dose"
    side: str = ""
    fewest: int | None = None
    most: int | None = None
    pitch_mm: float | None = None
    stagger: bool = True
    uneven: bool = False
    wander_mm: float | None = None
    tolerance_mm: float = 0.5
    pipe_mm: tuple[float, float] | None = None
    weights: Mapping[str, float] | None = None
    least_dose: float = 1.0
    least_hold: float | None = None
    nozzle_cost: float | None = None
    changes: Mapping[str, Any] | None = None

    def __post_init__(self) -> None:
        one_of("aim", self.aim, AIMS)
        one_of("side", self.side, ("", *SIDES))
        for key in ("fewest", "most"):
            value = getattr(self, key)
            if value is not None and value < 1:
                raise InputError(key, value, "1 nozzle or more")
        if self.pitch_mm is not None:
            positive("pitch", self.pitch_mm)
        if self.wander_mm is not None:
            non_negative("wander", self.wander_mm)
        non_negative("tolerance", self.tolerance_mm)
        non_negative("least_dose", self.least_dose)
        if self.nozzle_cost is not None:
            non_negative("nozzle_cost", self.nozzle_cost)
        if self.pipe_mm is not None and not self.pipe_mm[0] < self.pipe_mm[1]:
            raise InputError("pipe_to", f"{self.pipe_mm[1]:g} mm", "a place beyond --pipe-from")

    def applied(self, header: Header) -> Header:
        """Return a header with what shall differ from today's."""
        changes = dict(self.changes or {})
        mine = {key: changes.pop(key) for key in list(changes) if hasattr(header, key)}
        return replace(header, nozzle=replace(header.nozzle, **changes), **mine)


@dataclass(frozen=True, slots=True)
class Faults:
    """What may not be as drawn.

    Parameters
    ----------
    plugged : bool
        One nozzle is plugged.
    wanders : bool
        The pack rides off its place.
    wander_mm : float, optional
        How far, either way; half its slack and half a setting step when omitted [mm].
    tolerance_mm : float
        Every hole is so far off its place; 0 for none [mm].
    pressure_share : float
        All pressures are higher or lower by this share; 0 for none [-].
    next_height : bool
        The headers stand as far from the cans as they do from those of the other sizes.
    """

    plugged: bool = True
    wanders: bool = True
    wander_mm: float | None = None
    tolerance_mm: float = 0.5
    pressure_share: float = 0.1
    next_height: bool = True

    def __post_init__(self) -> None:
        non_negative("tolerance", self.tolerance_mm)
        between("pressure", self.pressure_share, 0.0, 0.9)
