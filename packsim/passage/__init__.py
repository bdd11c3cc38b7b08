"""The pack carried through every stage, can by can.

`packsim.passage.track` makes the line of one can size, `packsim.passage.step` moves a pack along
it, `packsim.passage.frames` shows it; `packsim.passage.run` does all that and keeps a `Record`.
"""

from packsim.passage.record import PLACES, ROLES, Event, Frame, Record
