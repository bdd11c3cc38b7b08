"""What a photograph of the mat shows: cans and guides in mm, how the pack stands, what can tip."""

from packsim.look.beside import beside_line, guides_below_mm
from packsim.look.look import look_at
from packsim.look.measure import LEVEL, Looked, measure_pack
