"""Nozzles against cans: how they stand, where the pack must ride, how to drill anew."""

from packsim.headers.arrangement import Arrangement, refit_for
from packsim.headers.check import HeaderCheck, PlaceDose, SideCheck, check_headers
from packsim.headers.design import apply_design, design_headers
from packsim.headers.proposal import HeaderDesign, Proposal
from packsim.headers.shift import LaneCase, LineShift, StageShift, find_shifts
from packsim.headers.what_if import WhatIf
from packsim.headers.wish import DesignWish, Faults
from packsim.spray.impact import HeaderWork
from packsim.spray.landing import Landing
