"""The pack between two guides: where the cans stand, what touches, and what is left open."""

from packsim.pack.contacts import neighbour_lists, neighbour_pairs
from packsim.pack.state import Pack
from packsim.pack.strip import PACK_STATES, candidate_packs, pack_between
from packsim.pack.void_shapes import void_polygons
from packsim.pack.voids import Voids, find_voids, voids_between

__all__ = [
    "PACK_STATES",
    "Pack",
    "Voids",
    "candidate_packs",
    "find_voids",
    "neighbour_lists",
    "neighbour_pairs",
    "pack_between",
    "void_polygons",
    "voids_between",
]
