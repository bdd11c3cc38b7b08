"""The chance of a tip: expected tips per million from the moving pack, at any kick energy.

`packsim.chance.sample` carries a slice of pack and looks at its barriers, `packsim.chance.spectrum`
holds them, `packsim.chance.line_chance` repeats that until the chance is known well enough, and
`packsim.chance.keep` keeps the repeats on disk.
"""

from packsim.chance.history import Cause, Compared, History, compare_history
from packsim.chance.line_chance import LineChance, chance_of, kept_chance
from packsim.chance.rate import Rate, StageChance
from packsim.chance.spectrum import Spectrum
