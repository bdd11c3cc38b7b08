"""A first scenario file from a few answers; what nobody knows is left out, or on record."""

from packsim.scenario.new.questions import QUESTIONS
from packsim.scenario.new.text import new_text
