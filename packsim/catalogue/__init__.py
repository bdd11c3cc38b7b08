"""Known can sizes and metals, each number with its source; and how a can is made from them.

Needs the standard library only, and reads its tables when first asked.
"""

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
from packsim.catalogue.cans import (
    SizeRow,
    can_size,
    catalogue_sizes,
    custom_can,
    listed_values,
    size_row,
)
from packsim.catalogue.listed import ListedSize, listed_sizes
