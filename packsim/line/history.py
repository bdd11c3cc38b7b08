"""What a line is known to have done: cans tipped of those passed, with the guides as they were."""

from dataclasses import dataclass

from packsim.errors import InputError, count, one_of, positive

PLACES = ("left edge", "centre", "right edge")
"""Where across the mat: within the first lane pitch of a guide, or between."""


@dataclass(frozen=True, slots=True)
class PastCount:
    """One count of a time past.

    Parameters
    ----------
    size : str
        Name of the can size that ran.
    cans : int
        Cans passed.
    tipped : int
        Of these the cans that tipped, at the stage and place named.
    name : str
        What to call it.
    stage : str
        Where they tipped; empty for all stages together.
    place : str
        One of `PLACES`; empty for all places together.
    clear_width_mm : float or None
        Clear width of every stage then, None where it was as it is now [mm].
    widths_mm : tuple of (str, float)
        Clear widths of single stages then [mm].
    """

    size: str
    cans: int
    tipped: int
    name: str = ""
    stage: str = ""
    place: str = ""
    clear_width_mm: float | None = None
    widths_mm: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        if count("cans", self.cans) < 1:
            raise InputError("cans", self.cans, "at least 1 can passed")
        if count("tipped", self.tipped) > self.cans:
            raise InputError("tipped", self.tipped, f"no more than the {self.cans} cans passed")
        if self.place:
            one_of("place", self.place, PLACES)
        if self.clear_width_mm is not None:
            positive("clear_width_mm", self.clear_width_mm)
        for _, width in self.widths_mm:
            positive("widths_mm", width)

    @property
    def tips_per_million(self) -> float:
        """Cans tipped of a million passed."""
        return 1e6 * self.tipped / self.cans

    @property
    def as_now(self) -> bool:
        """Whether it is of all stages and places together, with the guides as they are now."""
        return not (self.stage or self.place or self.clear_width_mm or self.widths_mm)

    @property
    def what(self) -> str:
        """Say what was counted."""
        where = " ".join(filter(None, (self.stage, self.place)))
        return ", ".join(filter(None, (self.name, self.size, where)))
