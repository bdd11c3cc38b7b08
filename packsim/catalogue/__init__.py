"""Known can sizes and metals, each number with its source; and how a can is made from them.

Needs the standard library only, and reads its tables when first asked.
"""

from packsim.catalogue.body import METALS, Gauges, base_shape, body_model, metal, usual_gauges
from packsim.catalogue.cans import ListedSize, can_size, custom_can, listed_sizes
from packsim.catalogue.rows import MARKS, Marked, SizeRow, catalogue_sizes, size_row
