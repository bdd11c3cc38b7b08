"""The pack carried through every stage, can by can.

`build_track` makes the line of one can size; `start` and `step` move a pack along it; `frame_of`
shows it; `run_passage` does all that and keeps a `Record`, `run_many` many times over.
"""

from packsim.passage.frames import frame_of
from packsim.passage.many import run_many
from packsim.passage.passages import Passages
from packsim.passage.record import PLACES, ROLES, Event, Frame, Jam, Profile, Record
from packsim.passage.run import run_passage
from packsim.passage.state import State
from packsim.passage.step import start, start_slice, step
from packsim.passage.store import load_record, save_record
from packsim.passage.track import Track, build_track

__all__ = [
    "PLACES",
    "ROLES",
    "Event",
    "Frame",
    "Jam",
    "Passages",
    "Profile",
    "Record",
    "State",
    "Track",
    "build_track",
    "frame_of",
    "load_record",
    "run_many",
    "run_passage",
    "save_record",
    "start",
    "start_slice",
    "step",
]
