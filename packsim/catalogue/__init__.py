"""Known can sizes and metals, each number with its source; and how a can is made from them.

Needs the standard library only, and reads its tables when first asked.
"""

from packsim.catalogue.body import Gauges, body_model
from packsim.catalogue.cans import ListedSize, can_size, custom_can, listed_sizes
from packsim.catalogue.metals import METALS, base_shape, metal
from packsim.catalogue.rows import MARKS, Marked, SizeRow, catalogue_sizes, size_row
