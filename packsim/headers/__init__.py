"""Nozzles against cans: how they stand, where the pack must ride, what pitch to drill."""

from packsim.headers.arrangement import Arrangement, arrange, arrange_all, refit_for, refitted
from packsim.headers.check import HeaderCheck, PlaceDose, SideCheck, check_headers
from packsim.headers.pitch import advise_pitch
from packsim.headers.pitch_advice import Candidate, PitchAdvice, PitchWish, SizeLines
from packsim.headers.plain import check_json, pitch_json, shift_json
from packsim.headers.shift import LaneCase, LineShift, SideShift, StageShift, find_shifts

__all__ = [
    "Arrangement",
    "Candidate",
    "HeaderCheck",
    "LaneCase",
    "LineShift",
    "PitchAdvice",
    "PitchWish",
    "PlaceDose",
    "SideCheck",
    "SideShift",
    "SizeLines",
    "StageShift",
    "advise_pitch",
    "arrange",
    "arrange_all",
    "check_headers",
    "check_json",
    "find_shifts",
    "pitch_json",
    "refit_for",
    "refitted",
    "shift_json",
]
