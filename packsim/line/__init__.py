"""What stands on the floor, as plain nouns: mat, stages, guides, headers and the scenario."""

from packsim.line.guides import Bracket, Guides, Wires
from packsim.line.history import PLACES, PastCount
from packsim.line.input_range import InputRange, range_of, with_value
from packsim.line.plant import Mat, Scenario, Unlikely
from packsim.line.spray import MEDIA, SIDES, Header, Nozzle, medium_of
from packsim.line.stage import DUTIES, LAYOUTS, STATES, TIPPED, Kicks, KnownSetting, Stage
