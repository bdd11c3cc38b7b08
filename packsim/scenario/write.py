"""A `Scenario` back to a complete scenario file, which reads back to an equal one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

from packsim.assumption import Assumption
from packsim.can import Can
from packsim.line import Bracket, Guides, Header, KnownSetting, Scenario, Stage
from packsim.scenario import kinds as k
from packsim.scenario.guides import even_brackets
from packsim.scenario.quantities import Kind, write_quantity
from packsim.scenario.tables import SCHEMA

__all__ = ["scenario_to_toml", "toml_text"]

_Lines = list[str]

_NOTE: Final = """\
# Saved by packsim: every value is written out, and [[assumed]] lists those nobody measured.
# When you measure one, change it and delete its [[assumed]] entry.
"""


def scenario_to_toml(scenario: Scenario) -> str:
    """Write a complete scenario file.

    Parameters
    ----------
    scenario : Scenario
        Any scenario; an included file is written out, not referred to.

    Returns
    -------
    str
        TOML that `parse_scenario` reads back to an equal scenario, assumptions and all, provided
        that kicks without a trial are among them, as in every scenario read from a file.
    """
    shared = _shared([_guides(stage.guides) for stage in scenario.stages])
    lines = [_NOTE + f"schema = {SCHEMA}", f"name = {toml_text(scenario.name)}"]
    lines += [f"about = {toml_text(scenario.about)}", f"seed = {scenario.seed}"]
    lines += [f"factor = {write_quantity(scenario.factor, k.FACTOR)}"]
    lines += [f"set_for = {toml_text(scenario.set_for)}", ""]
    lines += _mat(scenario)
    for can in scenario.sizes:
        lines += _size(can)
    lines += ["[guides]", *(f"{key} = {value}" for key, value in shared.items()), ""]
    for stage in scenario.stages:
        lines += _stage(stage, shared)
    lines += _assumed("assumed", scenario.assumed)
    return "\n".join(lines)


def toml_text(text: str) -> str:
    r"""Return a text as a TOML basic string on one line.

    Examples
    --------
    >>> print(toml_text('a "b"' + chr(10)))
    "a \"b\"\n"
    """
    short = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t"}
    return '"' + "".join(short.get(c) or _escaped(c) for c in text) + '"'


def _escaped(character: str) -> str:
    code = ord(character)
    if character.isprintable():
        return character
    return f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}"


def _pairs(rows: Iterable[tuple[str, float, Kind]]) -> _Lines:
    return [f"{key} = {write_quantity(value, kind)}" for key, value, kind in rows]


def _mat(scenario: Scenario) -> _Lines:
    mat = scenario.mat
    rows = (
        ("width", mat.width_mm, k.LENGTH),
        ("speed", mat.speed_mm_per_s, k.SPEED),
        ("open_area", mat.open_fraction, k.SHARE),
        ("friction", mat.friction, k.FRICTION),
        ("mass_per_area", mat.mass_kg_per_m2, k.AREA_MASS),
        ("specific_heat", mat.specific_heat_J_per_kgK, k.HEAT),
    )
    return ["[mat]", *_pairs(rows), ""]


def _size(can: Can) -> _Lines:
    rows = (
        ("diameter", can.diameter_mm, k.LENGTH),
        ("diameter_tol", can.diameter_tol_mm, k.GAP),
        ("height", can.height_mm, k.LENGTH),
        ("mass", can.mass_kg, k.MASS),
        ("cg_height", can.cg_mm, k.LENGTH),
        ("dome_depth", can.dome_depth_mm, k.GAP),
        ("dome_rim_radius", can.dome_rim_radius_mm, k.GAP),
        ("expansion", can.expansion_per_K, k.EXPANSION),
        ("specific_heat", can.specific_heat_J_per_kgK, k.HEAT),
    )
    head = ["[[sizes]]", f"name = {toml_text(can.name)}"]
    return [*head, *_pairs(rows), "", *_assumed("sizes.assumed", can.assumed)]


def _guides(guides: Guides) -> dict[str, str]:
    """Return the keys of a guides table, written out."""
    wires = guides.wires
    rows = [
        ("tension", wires.tension_N, k.FORCE),
        ("wire_mass", wires.mass_kg_per_m, k.LINE_MASS),
        ("wire_stiffness", wires.stiffness_N, k.FORCE),
        ("wire_expansion", wires.expansion_per_K, k.EXPANSION),
        ("setting_temperature", guides.setting_temperature_C, k.TEMPERATURE),
        ("setting_step", guides.setting_step_mm, k.GAP),
        ("wear", guides.wear_mm, k.GAP),
        ("frame_expansion", guides.frame_expansion_per_K, k.EXPANSION),
    ]
    if guides.travel_mm is not None:
        rows.append(("travel_near", guides.travel_mm[0], k.PLACE))
        rows.append(("travel_far", guides.travel_mm[1], k.PLACE))
    heights = ", ".join(write_quantity(height, k.LENGTH) for height in wires.heights_mm)
    table = {"wire_heights": f"[{heights}]", "anchored": str(wires.anchored).lower()}
    return table | {key: write_quantity(value, kind) for key, value, kind in rows}


def _shared(tables: Sequence[dict[str, str]]) -> dict[str, str]:
    """Return what every stage has alike; it stands once, in [guides]."""
    first = tables[0]
    return {key: value for key, value in first.items() if all(t.get(key) == value for t in tables)}


def _stage(stage: Stage, shared: dict[str, str]) -> _Lines:
    rows = [
        ("length", stage.length_mm, k.LENGTH),
        ("temperature", stage.temperature_C, k.TEMPERATURE),
        ("fill", stage.fill, k.FILL),
        ("dome_pool", stage.pool_fraction, k.SHARE),
        ("pack_pressure", stage.pack_pressure_N_per_m, k.LINE_FORCE),
    ]
    if stage.hold_down_mm is not None:
        rows.append(("hold_down", stage.hold_down_mm, k.LENGTH))
    lines = ["[[stages]]", f"name = {toml_text(stage.name)}", f"duty = {toml_text(stage.duty)}"]
    lines += [f"layout = {toml_text(stage.layout)}", f"state = {toml_text(stage.state)}"]
    lines += [*_pairs(rows), *_brackets(stage), ""]
    own = {key: val for key, val in _guides(stage.guides).items() if shared.get(key) != val}
    if own:
        lines += ["[stages.guides]", *(f"{key} = {value}" for key, value in own.items()), ""]
    lines += _kicks(stage)
    for header in stage.headers:
        lines += _header(header)
    for setting in stage.settings:
        lines += _setting(setting)
    return lines


def _brackets(stage: Stage) -> _Lines:
    """Write one width where that gives the very same brackets, else every bracket."""
    brackets = stage.guides.brackets
    first = brackets[0]
    if len(brackets) > 1:
        spacing = stage.length_mm / (len(brackets) - 1)
        width, centre = first.clear_width_mm, first.centre_mm
        if even_brackets(stage.length_mm, spacing, width, centre) == brackets:
            return _pairs(
                (
                    ("clear_width", width, k.LENGTH),
                    ("centre", centre, k.PLACE),
                    ("bracket_spacing", spacing, k.LENGTH),
                )
            )
    return _listed(brackets)


def _listed(brackets: Sequence[Bracket]) -> _Lines:
    rows = []
    for bracket in brackets:
        station, left, right = (
            write_quantity(value, kind)
            for value, kind in (
                (bracket.station_mm, k.GAP),
                (bracket.left_mm, k.PLACE),
                (bracket.right_mm, k.PLACE),
            )
        )
        rows.append(f"  {{ station = {station}, left = {left}, right = {right} }},")
    return ["brackets = [", *rows, "]"]


def _setting(setting: KnownSetting) -> _Lines:
    """Write one width where that gives the very same brackets, else every bracket."""
    first = setting.brackets[0]
    width, centre = first.clear_width_mm, first.centre_mm
    faces = centre - width / 2.0, centre + width / 2.0
    if all((b.left_mm, b.right_mm) == faces for b in setting.brackets):
        stood = _pairs((("clear_width", width, k.LENGTH), ("centre", centre, k.PLACE)))
    else:
        stood = _listed(setting.brackets)
    lines = ["[[stages.settings]]", f"size = {toml_text(setting.size)}", *stood]
    if setting.wire_heights_mm is not None:
        heights = ", ".join(write_quantity(z, k.LENGTH) for z in setting.wire_heights_mm)
        lines.append(f"wire_heights = [{heights}]")
    if setting.hold_down_mm is not None:
        lines += _pairs((("hold_down", setting.hold_down_mm, k.LENGTH),))
    return [*lines, ""]


def _kicks(stage: Stage) -> _Lines:
    kicks = stage.kicks
    rows = (
        ("energy", kicks.energy_mJ, k.ENERGY),
        ("rate", kicks.rate_per_s, k.RATE),
        ("step", kicks.step_mm, k.GAP),
        ("drift", kicks.drift_mm_per_s, k.DRIFT),
    )
    trial = [f"trial = {toml_text(kicks.trial)}"] if kicks.trial else []
    return ["[stages.kicks]", *_pairs(rows), *trial, ""]


def _header(header: Header) -> _Lines:
    nozzle = header.nozzle
    rows: tuple[tuple[str, float, Any], ...] = (
        ("station", header.station_mm, k.GAP),
        ("mat_distance", header.mat_distance_mm, k.LENGTH),
        ("first", header.first_mm, k.PLACE),
        ("pitch", header.pitch_mm, k.LENGTH),
        ("pressure", header.pressure_MPa, k.PRESSURE),
        ("angle", nozzle.angle_rad, k.ANGLE),
        ("thin_angle", nozzle.thin_angle_rad, k.ANGLE),
        ("twist", nozzle.twist_rad, k.TWIST),
        ("flow", nozzle.flow_mm3_per_s, k.FLOW),
        ("at_pressure", nozzle.reference_MPa, k.RATED_PRESSURE),
        ("velocity_coefficient", nozzle.velocity_coefficient, k.VELOCITY_SHARE),
        ("density", header.liquid_kg_per_mm3, k.DENSITY),
    )
    words = [f"side = {toml_text(header.side)}", f"pattern = {toml_text(nozzle.pattern)}"]
    return ["[[stages.headers]]", *words, f"count = {header.count}", *_pairs(rows), ""]


def _assumed(table: str, entries: Sequence[Assumption]) -> _Lines:
    lines = []
    for entry in entries:
        lines += [f"[[{table}]]", f"key = {toml_text(entry.key)}"]
        lines += [f"value = {toml_text(entry.value)}", f"why = {toml_text(entry.why)}", ""]
    return lines
