"""Nozzles against cans: how they stand, where the pack must ride, what pitch to drill."""

from packsim.headers.arrangement import Arrangement, arrange, arrange_all, refit_for, refitted
from packsim.headers.check import HeaderCheck, PlaceDose, SideCheck, check_headers
from packsim.headers.pitch import advise_pitch
from packsim.headers.pitch_advice import Candidate, PitchAdvice, PitchWish, SizeLines
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
    "find_shifts",
    "refit_for",
    "refitted",
]
