"""The text of a first scenario file, commented and short.

A key that can be left out is left out where nobody knows its value. Where a file cannot do without
one, a usual value stands there and is on record as assumed, so that its documented range holds.
"""

import math
import re
from typing import Any, Final

from packsim.catalogue import SizeRow, catalogue_sizes, size_row
from packsim.constants import MM_PER_INCH, SIN60
from packsim.errors import Assumption
from packsim.line import DUTIES
from packsim.scenario.keys import Table, keys
from packsim.scenario.line_tables import GuidesTable, MatTable, SizeTable
from packsim.scenario.new.readers import USUAL, Answers
from packsim.scenario.new.usual import (
    AIR,
    ROOM_MM,
    USUAL_SIZE,
    WHY,
    length_in,
    mm_of,
    row_of,
    usual_in,
)
from packsim.scenario.renew import SCHEMA
from packsim.scenario.sheets.in_place import NOBODY
from packsim.scenario.stage_tables import HeaderTable, StageTable
from packsim.scenario.values.readers import toml_text
from packsim.scenario.write import assumed_lines

_HEAD: Final = """\
# Made by packsim new. What nobody knew is left out, or taken as usual and listed at the end. A
# value may carry how well it is known, "1391 mm ± 1 mm", or be a list of readings.
"""

_TAIL: Final = """\
# Nobody knew these: a usual value stands above. packsim doubt tells what each of them may be; when
# you know one, write it above and take its key out here."""


def new_text(said: Answers) -> str:
    """Return the text of a scenario file.

    Parameters
    ----------
    said : dict
        Answers by the names of `packsim.scenario.new.QUESTIONS`; None where nobody knows.

    Returns
    -------
    str
        TOML with comments, to be read by `packsim.scenario.parse_scenario`.
    """
    return _New(said).text()


class _New:
    """One file in the making; ``record`` has what stands in it though nobody knows it."""

    def __init__(self, said: Answers) -> None:
        self.said, self.units = said, said.get("units") or "metric"
        self.lines: list[str] = []
        self.record: list[Assumption] = []
        self.rows: list[tuple[str, str, str | None]] = said.get("stages") or list(USUAL)
        self.widths: dict[str, str | None] = said.get("clear width") or {}
        self.diameter_mm = self.height_mm = self.mat_mm = 0.0

    def text(self) -> str:
        """Put the parts together, each as the ones before it allow."""
        said = self.said
        self.table(
            "",
            f"schema = {SCHEMA}",
            'units = "inch"' if self.units == "inch" else "",
            f"name = {toml_text(said.get('name') or 'New line')}",
        )
        self.lines.insert(0, _HEAD)
        sizes = self.sizes()
        self.mat()
        self.lines += sizes
        self.guides()
        self.every_stage()
        if any(count for _, count, _ in map(self.headers_of, self.rows)):
            self.pattern()
        for i, (name, duty, length) in enumerate(self.rows):
            self.stage(i, name, duty, length)
        if self.record:
            self.lines.append(_TAIL)
        return "\n".join([*self.lines, *assumed_lines("assumed", self.record)])

    def table(self, heading: str, *rows: str) -> None:
        """Add a table; rows that are empty are left out."""
        self.lines += [*filter(None, (heading, *rows)), ""]

    def put(
        self, at: str, table: type[Table], value: str | None, usual: str, about: str = ""
    ) -> str:
        """Return the row of a key: its value, or the usual one and an entry of the record."""
        name = at.rpartition(".")[2]
        if value is None:
            self.note(at, keys(table)[name].reader.read(usual), table)
            about += f"; {NOBODY}: a usual one" if about else f"{NOBODY}: a usual one"
        return row_of(name, value or usual, about)

    def note(self, at: str, value: Any, table: type[Table], why: str = WHY) -> None:
        """Put a value on record as assumed."""
        one = keys(table)[at.rpartition(".")[2].partition("[")[0]]
        entry = one.reader.told(at, value, why)
        self.record += [] if entry in self.record else [entry]

    def sizes(self) -> list[str]:
        """Return the lines of the sizes, and see how wide and high the first is."""
        lines = []
        for size, height in (("size", "height"), ("next size", "next height")):
            what = self.said.get(size)
            if what is None and size != "size":
                continue
            about = "" if what else f"{NOBODY} which can: the usual one"
            what = what or size_row(USUAL_SIZE)
            if isinstance(what, SizeRow):
                mm = what.diameter_mm.value, what.trimmed_height_mm.value
                name = re.sub(r" / \S+ (ml|oz)", "", what.label)
                rows = [row_of("name", name), row_of("catalogue", what.id, about)]
            else:
                mm, rows = self.own_size(what, self.said.get(height))
            lines += ["[[sizes]]", *rows, ""]
            if not self.diameter_mm:
                self.diameter_mm, self.height_mm = mm
        return lines

    def own_size(
        self, diameter: str | list[str], height: str | None
    ) -> tuple[tuple[float, float], list[str]]:
        """Return diameter and height of a body that was measured, and the rows of its table."""
        wide = mm_of(diameter)
        near = min(catalogue_sizes(), key=lambda row: abs(row.diameter_mm.value - wide))
        usual = f"{near.trimmed_height_mm.value:g} mm"
        name = f"{wide:.1f} mm body"
        rows = [row_of("name", name), row_of("diameter", diameter, "outside, of the body")]
        if height is not None:
            rows.append(row_of("height", height, "trimmed, not necked"))
        else:
            rows.append(row_of("height", usual, f"{NOBODY}: that of {near.id}"))
            told = keys(SizeTable)["height"].reader.told("", mm_of(usual), "").value
            entry = Assumption(
                f"sizes[{name}].height", told, f"taken from {near.id}: measure yours"
            )
            rows += ["", *assumed_lines("sizes.assumed", [entry])[:-1]]
        return (wide, mm_of(height or usual)), rows

    def mat(self) -> None:
        """Add the mat, wide enough for the guides where nobody knows how wide it is."""
        given = [mm_of(one) for one in self.widths.values() if one]
        usual = usual_in(self.units, "mat")
        if given and mm_of(usual) < max(given) + 2.0 * ROOM_MM:
            usual = length_in(self.units, max(given) + 2.0 * ROOM_MM)
        width, speed = self.said.get("mat width"), self.said.get("mat speed")
        self.table(
            "[mat]",
            self.put("mat.width", MatTable, width, usual, "usable width"),
            self.put("mat.speed", MatTable, speed, usual_in(self.units, "speed")),
        )
        self.mat_mm = mm_of(width or usual)

    def guides(self) -> None:
        """Add the guides; three wires, spread over the height of the can, where nobody knows."""
        heights = self.said.get("wires")
        about = "above the mat, lowest first"
        if heights is None:
            heights = [
                length_in(self.units, share * self.height_mm) for share in (0.25, 0.55, 0.85)
            ]
            about += f"; {NOBODY}: spread over the can"
            for k, each in enumerate(heights):
                self.note(f"guides.wire_heights[{k}]", mm_of(each), GuidesTable)
        step = ""
        if self.units == "inch":  # in millimetres what stands in for it is a millimetre
            step = self.put("guides.smallest_bracket_step", GuidesTable, None, "1/16 in")
        self.table("[guides]", row_of("wire_heights", heights, about), step)

    def usual_width(self) -> str:
        """Return the clear width of the lanes that fit the mat, and half a per cent more."""
        room = max(self.mat_mm - 2.0 * ROOM_MM, self.diameter_mm)
        pitch = self.diameter_mm * (1.0 if self.said.get("rows") == "across" else SIN60)
        lanes = 1 + math.floor((room - self.diameter_mm) / pitch)
        return length_in(self.units, 1.005 * (self.diameter_mm + (lanes - 1) * pitch))

    def every_stage(self) -> None:
        """Add what all stages share."""
        about = "along the guides, or straight across the mat"
        rows = self.said.get("rows")
        told = (
            row_of("rows", rows, about)
            if rows
            else f'# rows = "along"                # {NOBODY}: look; or "across"'
        )
        warm = self.said.get("temperatures") or {}
        self.table(
            "[every_stage]",
            told,
            self.once("clear_width", self.widths, self.usual_width(), "guide face to guide face"),
            self.once(
                "length", {name: one for name, _, one in self.rows}, usual_in(self.units, "length")
            ),
            self.alike("temperature", warm),
        )

    def once(self, name: str, values: dict[str, str | None], usual: str, about: str = "") -> str:
        """Return the row of a value alike in every stage, the usual one where nobody knows any."""
        if any(values.values()):
            return self.alike(name, values, about)
        rows = [
            self.put(f"stages[{i}].{name}", StageTable, None, usual, about)
            for i in range(len(self.rows))
        ]
        return rows[0]

    def alike(self, name: str, values: dict[str, str | None], about: str = "") -> str:
        """Return the row of a value that every stage has alike, or nothing."""
        found = {values.get(row[0]) for row in self.rows}
        one = found.pop() if len(found) == 1 else None
        return row_of(name, one, about) if one else ""

    def headers_of(self, row: tuple[str, str, str | None]) -> tuple[str, int, str]:
        """Return name, number and side of the headers of a stage."""
        name, duty, length = row
        known = self.said.get("headers")
        if not DUTIES[duty].sprays or (known is None and duty == "blow-off"):
            return name, 0, "both"
        if known is not None:
            return name, *known.get(name, (0, "both"))
        long = mm_of(length or usual_in(self.units, "length"))
        return name, max(1, round(long / mm_of(usual_in(self.units, "apart")))), "both"

    def pattern(self) -> None:
        """Add what all headers have: a nozzle over each lane of the widest stage."""
        width = max(mm_of(one or self.usual_width()) for one in [*self.widths.values(), None])
        first = (self.mat_mm - width) / 2.0 + self.diameter_mm / 2.0
        pitch = self.diameter_mm * SIN60
        count = 1 + math.floor((width - self.diameter_mm) / pitch)
        usual = {
            "nozzle_to_mat": usual_in(self.units, "nozzle_to_mat"),
            "first_nozzle": length_in(self.units, first),
            "pitch": f"{pitch:.1f} mm"
            if self.units == "metric"
            else f"{pitch / MM_PER_INCH:.3f} in",
            "angle": usual_in(self.units, "angle"),
            "rated_flow": usual_in(self.units, "rated_flow"),
            "rated_pressure": usual_in(self.units, "rated_pressure"),
        }
        rows = [self.put(f"headers.{key}", HeaderTable, None, one) for key, one in usual.items()]
        rows = [row.partition("#")[0].rstrip() for row in rows]
        rows += [f"count = {count}", row_of("pattern", "cone")]
        heading = (
            "# Not asked: usual nozzles, one over each lane. A pair has one header on each side."
        )
        self.table(heading, "[header_patterns.spray]", row_of("side", "both"), *rows)

    def stage(self, i: int, name: str, duty: str, length: str | None) -> None:
        """Add one stage with its headers."""
        at, told = f"stages[{i}]", keys(StageTable)["duty"].reader.toml(duty)
        rows = [row_of("name", name), f"duty = {told}"]
        lengths = {each: one for each, _, one in self.rows}
        for key, values, usual in (
            ("length", lengths, usual_in(self.units, "length")),
            ("clear_width", self.widths, self.usual_width()),
        ):
            if any(values.values()) and not self.alike(key, values):
                rows.append(self.put(f"{at}.{key}", StageTable, values.get(name), usual))
        warm = self.said.get("temperatures") or {}
        rows.append(
            row_of("temperature", warm[name]) if warm.get(name) and not self.alike("", warm) else ""
        )
        self.table("[[stages]]", *rows)
        _, count, side = self.headers_of((name, duty, length))
        if not count:
            return
        long = mm_of(length or usual_in(self.units, "length"))
        places = [length_in(self.units, (k + 0.5) * long / count) for k in range(count)]
        about = "evenly"
        if self.said.get("headers") is None:
            about = f"{NOBODY} how many: one for each {usual_in(self.units, 'apart')}"
        rows = [row_of("like", "spray"), row_of("side", side) if side != "both" else ""]
        rows.append(row_of("from_stage_start", places[0] if count == 1 else places, about))
        rows += [row_of(key, one) for key, one in AIR.items() if duty == "blow-off"]
        pressures = self.said.get("pressures") or {}
        usual = (
            "other pressure"
            if usual_in(self.units, "pressure") in pressures.values()
            else "pressure"
        )
        usual = AIR["rated_pressure"] if duty == "blow-off" else usual_in(self.units, usual)
        rows.append(self.put("headers.pressure", HeaderTable, pressures.get(name), usual))
        self.table("[[stages.headers]]", *rows)
