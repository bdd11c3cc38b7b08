"""The pack between two guides: where the cans stand, what touches, and what is left open."""

from packsim.pack.state import Pack, pack_between
from packsim.pack.voids import find_voids
