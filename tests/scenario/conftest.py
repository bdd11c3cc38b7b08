"""A small scenario text to spoil in one place at a time."""

from __future__ import annotations

import pytest

SMALL = """\
schema = 2
name = "small"

[mat]
width = "700 mm"
speed = "6 m/min"

[[sizes]]
name = "body"
catalogue = "us_12oz_std"

[guides]
wire_heights = ["30 mm", "65 mm", "100 mm"]
tension = "600 N"

[[stages]]
name = "wash"
duty = "flood"
length = "3 m"
temperature = "60 degC"
clear_width = "588 mm"

[stages.kicks]
energy = "0.05 mJ"
kicks_per_second = "2 1/s"

[[stages.headers]]
side = "above"
from_stage_start = "1 m"
nozzle_to_mat = "240 mm"
first_nozzle = "92 mm"
pitch = "57.2 mm"
count = 10
pressure = "2 bar"
pattern = "cone"
angle = "60 deg"
rated_flow = "2 L/min"
rated_pressure = "2 bar"
"""


@pytest.fixture
def small() -> str:
    return SMALL
