"""The pack between two guides: where the cans stand, what touches, and what is left open."""

from packsim.pack.bounds import (
    groemer_hull_mm2,
    most_cans_per_metre,
    oler_count,
    strip_cans_per_metre,
)
from packsim.pack.contacts import Contacts, contacts, neighbour_lists, neighbour_pairs
from packsim.pack.order import Hexatic, hexatic_order
from packsim.pack.state import Pack
from packsim.pack.strip import PACK_STATES, candidate_packs, pack_between
from packsim.pack.void_shapes import void_polygons
from packsim.pack.voids import Voids, find_voids, voids_between

__all__ = [
    "PACK_STATES",
    "Contacts",
    "Hexatic",
    "Pack",
    "Voids",
    "candidate_packs",
    "contacts",
    "find_voids",
    "groemer_hull_mm2",
    "hexatic_order",
    "most_cans_per_metre",
    "neighbour_lists",
    "neighbour_pairs",
    "oler_count",
    "pack_between",
    "strip_cans_per_metre",
    "void_polygons",
    "voids_between",
]
