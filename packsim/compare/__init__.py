"""Lines side by side: what differs in the machine, in every answer, and how sure that is.

`packsim.compare.compare` lays them side by side, `packsim.compare.tips` draws the tips of all of
them from what is not known, the same draw of an unknown input for every line.
"""

from packsim.compare.compare import compare_lines
from packsim.compare.comparison import Comparison
from packsim.compare.search import reach
from packsim.compare.target import Target
from packsim.compare.tips import tip_draws
