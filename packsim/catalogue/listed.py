"""The whole catalogue, each size with the can it makes."""

from dataclasses import dataclass

from packsim.can import Can
from packsim.catalogue.cans import SizeRow, can_size, catalogue_sizes


@dataclass(frozen=True, slots=True)
class ListedSize:
    """A row of the catalogue with the can it makes.

    Parameters
    ----------
    row : SizeRow
        The row.
    can : Can
        The can, mass and centre of gravity computed.
    """

    row: SizeRow
    can: Can


def listed_sizes() -> tuple[ListedSize, ...]:
    """Return every row of the catalogue with the can it makes."""
    return tuple(ListedSize(row, can_size(row.id)) for row in catalogue_sizes())
