"""What a stage was set to for a can size that ran before, so that it can be set so again."""

from dataclasses import dataclass

from packsim.errors import InputError, positive, wire_heights
from packsim.line.guides import Bracket


@dataclass(frozen=True, slots=True)
class KnownSetting:
    """The setting on record for one size in one stage.

    Parameters
    ----------
    size : str
        Name of the can size.
    brackets : tuple of Bracket
        Where every bracket stood, at the stations the stage's brackets have.
    wire_heights_mm : tuple of float or None
        Wire heights that belong to this size, lowest first; None where they are no matter of size
        [mm].
    hold_down_mm : float or None
        Height of the hold-down's underside above the mat, None where it was not noted [mm].
    """

    size: str
    brackets: tuple[Bracket, ...]
    wire_heights_mm: tuple[float, ...] | None = None
    hold_down_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.brackets:
            raise InputError("brackets", "none", "at least one bracket")
        if self.wire_heights_mm is not None:
            wire_heights("wire_heights_mm", self.wire_heights_mm)
        if self.hold_down_mm is not None:
            positive("hold_down_mm", self.hold_down_mm)

    @property
    def narrowest_mm(self) -> float:
        """Least clear width at any bracket [mm]."""
        return min(bracket.clear_width_mm for bracket in self.brackets)
