"""Known can sizes and metals, each number with its source; and how a can is made from them.

Needs the standard library only, and reads its tables when first asked.
"""

from dataclasses import dataclass

from packsim.can import Can
from packsim.catalogue.body import (
    MARKS,
    METALS,
    Gauges,
    Marked,
    base_shape,
    body_model,
    metal,
    usual_gauges,
)
from packsim.catalogue.cans import SizeRow, can_size, catalogue_sizes, custom_can, size_row


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
