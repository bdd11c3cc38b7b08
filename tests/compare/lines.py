"""Lines read from text, so short and rough that cans tip in a passage of a tenth of a second."""

from __future__ import annotations

from packsim.line import Scenario
from packsim.scenario import parse_scenario

HEAD = """
schema = 2
name = "{name}"
[mat]
width = "700 mm"
speed = "6 m/min"
pack_enters = "left"
[[sizes]]
name = "211 body"
catalogue = "us_12oz_std"
[guides]
wire_heights = [{wires}]
tension = "600 N"
"""
_STAGE = """
[[stages]]
name = "{name}"
duty = "flood"
length = "0.6 m"
clear_width = "{width} mm"
pack_fill = "95 %"
kicks.energy = "{energy} mJ"
"""


def rough(
    *widths: float,
    name: str = "rough",
    wires: str = '"30 mm", "60 mm"',
    energy: float = 0.3,
    stages: tuple[str, ...] = ("wash", "rinse", "drain"),
) -> Scenario:
    """Return a line with a stage for each clear width [mm]."""
    text = HEAD.format(name=name, wires=wires)
    for stage, width in zip(stages, widths, strict=False):
        text += _STAGE.format(name=stage, width=width, energy=energy)
    return parse_scenario(text)
