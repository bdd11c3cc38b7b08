"""Nozzles against cans: how they stand, where the pack must ride, what pitch to drill."""

from packsim.headers.arrangement import Arrangement, refit_for
from packsim.headers.check import HeaderCheck, PlaceDose, SideCheck, check_headers
from packsim.headers.pitch import advise_pitch
from packsim.headers.pitch_advice import Candidate, PitchAdvice, PitchWish, SizeLines
from packsim.headers.shift import LaneCase, LineShift, StageShift, find_shifts
