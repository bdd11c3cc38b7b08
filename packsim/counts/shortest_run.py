"""The shortest run, of an invented pack: what it loads and compiles is what every run takes.

So that can be done before it is known what is to be counted, and once for all processes.
"""

import math

import numpy as np

from packsim.can import Can
from packsim.counts.along_travel import LEAST_SLICE_MM
from packsim.line import Bracket, Guides, Header, Kicks, Mat, Nozzle, Scenario, Stage, Wires
from packsim.passage.run import run_passage
from packsim.passage.step import DT_S
from packsim.passage.track import build_track

_STEPS = 10


def run_shortest() -> None:
    """Run five lanes of one stage for some steps, under a header; strong kicks tip many cans.

    The first time on a machine that compiles every loop of a run, which takes seconds; later they
    are read from disk, in a fifth of a second.
    """
    line = _line()
    record = run_passage(
        build_track(line, line.sizes[0]),
        seed=0,
        slice_mm=LEAST_SLICE_MM,
        time_s=_STEPS * DT_S,
        keep_frames=False,
    )
    if not np.any(record.tipped):
        raise RuntimeError("the shortest run tips no can, so that it does not do what others do")


def _line() -> Scenario:
    can = Can(
        name="invented",
        diameter_mm=66.0,
        height_mm=120.0,
        mass_kg=0.01,
        cg_mm=60.0,
        dome_depth_mm=10.0,
        dome_rim_radius_mm=23.0,
    )
    header = Header(
        side="above",
        station_mm=20.0,
        mat_distance_mm=300.0,
        first_mm=60.0,
        pitch_mm=70.0,
        count=5,
        pressure_MPa=0.1,
        nozzle=Nozzle("cone", math.radians(60.0), 1e5, 0.1),
    )
    brackets = Bracket(0.0, 50.0, 370.0), Bracket(LEAST_SLICE_MM, 50.0, 370.0)
    stage = Stage(
        name="invented",
        duty="flood",
        length_mm=LEAST_SLICE_MM,
        guides=Guides(brackets, Wires((60.0,), 500.0, 0.05, 1e6)),
        kicks=Kicks(100.0, 10.0),
        state="slack",
        fill=0.7,
        headers=(header,),
    )
    mat = Mat(400.0, 90.0)
    return Scenario("invented", "", mat, stages=(stage,), sizes=(can,), set_for=can.name)
