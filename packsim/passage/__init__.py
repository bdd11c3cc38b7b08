"""The pack carried through every stage, can by can."""

from packsim.passage.record import PLACES, ROLES, Event, Frame, Jam, Profile, Record

__all__ = ["PLACES", "ROLES", "Event", "Frame", "Jam", "Profile", "Record"]
