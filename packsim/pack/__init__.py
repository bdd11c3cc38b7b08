"""The pack between two guides: where the cans stand, what touches, and what is left open."""

from packsim.pack.contacts import Contacts, contacts, neighbour_lists, neighbour_pairs
from packsim.pack.state import Pack
from packsim.pack.strip import PACK_STATES, candidate_packs, pack_between

__all__ = [
    "PACK_STATES",
    "Contacts",
    "Pack",
    "candidate_packs",
    "contacts",
    "neighbour_lists",
    "neighbour_pairs",
    "pack_between",
]
