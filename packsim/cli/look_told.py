"""What ``packsim look`` is told of a picture: its line, its can, lengths, guides and camera."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from packsim.cli import options as opt
from packsim.cli.outputs import display_in, load_line
from packsim.errors import InputError

if TYPE_CHECKING:
    from packsim.arrays import Floats
    from packsim.line import Scenario
    from packsim.look import Looked
    from packsim.look.known import Known
    from packsim.look.look import Lengths
    from packsim.look.seen import SeenPack

_KNOWN_LENGTH: Final = re.compile(r"(.+?)\s+(\d+\.?\d*),(\d+\.?\d*)\s+(\d+\.?\d*),(\d+\.?\d*)\s*")

_CAMERA_OFF, _FOCAL_OFF = 0.02, 0.05
"""How well the height of a camera is known that is measured, and one from the note of its focal
length, which is rounded to a millimetre on film: shares, 95 % (taken, no source) [-]."""

_UNKNOWN_MM: Final = 0.5
"""How well a diameter or a depth is known that is only told: read off a tape [mm]."""


class Can(NamedTuple):
    """The can in a picture.

    Parameters
    ----------
    name : str
        Its size.
    diameter_mm, within_mm : float
        Diameter and half of the 95 % range of that [mm].
    source : object
        What a new scenario says of it, where no line has it.
    """

    name: str
    diameter_mm: float
    within_mm: float
    source: Any = None


@dataclasses.dataclass(frozen=True, slots=True)
class Reader:
    """Reads pictures of one can by one camera, with what is told of both.

    Parameters
    ----------
    can : Can
        The can in them.
    travel : str or None
        Where travel goes to in them.
    lengths : sequence
        Known lengths, as for `packsim.look.look_at`.
    guides_below : Known
        How far the edges of the guides lie below the rims [mm].
    camera : Known or None
        How high the camera was above the rims; None where nobody says [mm].
    """

    can: Can
    travel: str | None
    lengths: Lengths
    guides_below: Known
    camera: Known | None

    def seen(self, grey: Floats, name: str) -> SeenPack:
        """Return what one picture shows, shape (h, w), brightness 0 to 1."""
        from packsim.look.look import seen_in

        how: dict[str, Any] = {"travel": self.travel, "lengths": self.lengths}
        return seen_in(grey, self.can.diameter_mm, name, **how)

    def looked(self, seen: SeenPack, file: Path | None) -> Looked:
        """Return how the pack stands; ``file`` has the notes of the camera, where there are any."""
        from packsim.look import measure_pack

        camera = _noted(file, seen) if self.camera is None else self.camera
        return measure_pack(seen, self.can.within_mm, self.guides_below, camera)


def line_told(place: Path | None, units: opt.Units | None) -> tuple[Scenario | None, str]:
    """Return the line, where one is given, and the unit system to speak in."""
    if place is None:
        return None, "metric" if units is None else units.value
    case = load_line(place, "metric")
    system = case.units if units is None else units.value
    return dataclasses.replace(case, rule_step_mm=display_in(system).rule_step_mm), system


def can_told(size: str, case: Scenario | None, system: str) -> Can:
    """Return the can in the picture: one of the line, else of the catalogue, or a diameter."""
    if case is not None:
        can = case.size(size)
        number = [one.name for one in case.sizes].index(can.name)
        known = [one for one in case.ranges if one.key == f"sizes[{number}].diameter"]
        half = max(((one.high - one.low) / 2.0 for one in known), default=0.0)
        return Can(can.name, can.diameter_mm, half)
    from packsim.catalogue import SizeRow
    from packsim.scenario.known.measured import Measured
    from packsim.scenario.new import readers
    from packsim.scenario.values import fields as f

    source = readers.size("size")(size, {"units": system})
    if isinstance(source, SizeRow):
        return Can(source.id, source.diameter_mm.value, source.diameter_tol_mm.value, source)
    read = f.kind_of(f.Length).read(source)
    half = (read.high - read.low) / 2.0 if isinstance(read, Measured) else _UNKNOWN_MM
    return Can(size, float(read), half, source)


def length_told(text: str, system: str) -> tuple[tuple[float, float], tuple[float, float], float]:
    """Read a length and its two ends in the picture."""
    from packsim.scenario.values.ranges import read_value

    found = _KNOWN_LENGTH.fullmatch(text)
    if found is None:
        allowed = "a length and two points in pixels, such as 1391 mm 120,300 1710,340"
        raise InputError("length", repr(text), allowed)
    x, y, u, v = (float(one) for one in found.groups()[1:])
    return (x, y), (u, v), read_value("length", "length", found[1], system)


def guides_told(
    text: str | None, system: str, case: Scenario | None, stage: str, can: Can
) -> Known:
    """Return how far below the rims the guides are seen: as told, else where the wires hang."""
    from packsim.look import LEVEL, guides_below_mm
    from packsim.look.beside import HEIGHT_ERROR_MM, SHOULDER_MM
    from packsim.look.known import Known
    from packsim.scenario.values.ranges import read_value

    if text is not None:
        below = read_value("guide_below", "gap", text, system) - SHOULDER_MM
        return Known(below, HEIGHT_ERROR_MM)
    return LEVEL if case is None else guides_below_mm(case, stage, can.name)


def camera_told(text: str | None, system: str) -> Known | None:
    """Return how high the camera was above the rims, where somebody says."""
    from packsim.look.known import Known
    from packsim.scenario.values.ranges import read_value

    if text is None:
        return None
    height = read_value("camera", "length", text, system)
    return Known(height, _CAMERA_OFF * height)


def _noted(photo: Path | None, seen: SeenPack) -> Known | None:
    """Return how high the camera was above the rims by what it noted in its file."""
    from packsim.look.known import Known
    from packsim.look.photograph import focal_length_px

    focal = None if photo is None else focal_length_px(photo)
    if focal is None:
        return None
    height = float(seen.view.eye_mm(focal)[2])
    return Known(height, _FOCAL_OFF * height)
