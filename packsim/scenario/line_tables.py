"""Tables of what stands along the whole line: mat, can sizes, guides; each key declared once.

What stands in for a value left out is measured on no line. Wire figures are those of a 3 mm round
stainless wire, 8.0 g/cm³ and 193 GPa: ρ·π·9/4 = 56.5 g/m, E·π·9/4 = 1.364 MN (derived here; density
and modulus from memory of any materials table).
"""

import re
from typing import Annotated, Final

from packsim.catalogue import METALS
from packsim.errors import Assumption
from packsim.line.guides import SHAPES
from packsim.scenario.keys import Table, key, must
from packsim.scenario.values import fields as f
from packsim.scenario.values.quantities import unit_known
from packsim.scenario.values.readers import Choice, same

MAX_ROWS: Final = 5000
"""Longest lists a file may hold; a stage has a few dozen brackets and headers."""

FUNNEL_MM: Final = 10.0
"""Brackets that narrow or widen steadily by more than this are taken for a funnel; less may be how
well they were set."""

GUESS: Final = "common practice, no source; measure it on your line"
_WIRE: Final = "3 mm round stainless wire"


class AssumedTable(Table):
    """One value of this file that nobody measured; saved files carry these along."""

    key: f.Paths = must(
        "Path of the value, or a list of paths of such values.", example="stages[0].kicks.energy"
    )
    value: f.Text = must("The value as a person would write it.", example="0.05 mJ")
    why: f.Text = must("Where it comes from.", example="invented")

    @property
    def taken(self) -> tuple[Assumption, ...]:
        """The entry of each path, its value as a number too where it is one."""
        found = re.fullmatch(r"(-?[\d.]+(?:e-?\d+)?) (.+)", self.value)
        known = found is not None and unit_known(found[2])
        number = (float(found[1]), found[2]) if found and known else (None, "")
        return tuple(Assumption(path, self.value, self.why, *number) for path in self.key)


class MatTable(Table):
    """The moving mat."""

    width: f.Length = must("Usable width.", "width_mm", example="1600 mm")
    speed: f.Speed = must("Speed.", "speed_mm_per_s")
    open_area: f.Share | None = key(
        "Share of its area that is open to sprays from below.",
        "open_fraction",
        0.6,
        "an open mesh; " + GUESS,
    )
    friction: f.Friction | None = key(
        "Coefficient of static friction under a can.",
        "friction",
        0.5,
        "low end of what cleaned cans show",
    )
    mass_per_area: f.AreaMass | None = key(
        "Mass per area.", "mass_kg_per_m2", 9.2, "flat-wire mat, 1 x 1 in openings, by geometry"
    )
    specific_heat: f.Heat | None = key(
        "Specific heat of its material.",
        "specific_heat_J_per_kgK",
        500.0,
        "stainless steel, from memory of a table",
    )
    pack_enters: f.Side | None = key(
        "Where the pack comes onto the mat: at the left guide, in the middle, at the right guide, "
        "or the share of its slack that lies to the left of it.",
        "pack_enters",
        0.5,
        "taken as the middle; measure the gap at each guide at the infeed",
        example="centre",
    )
    start_acceleration: f.Acceleration | None = key(
        "Acceleration of the mat as it starts, stops or is jogged; none where left out.",
        "start_acceleration_mm_per_s2",
        example="0.5 m/s^2",
    )
    odd_cans: f.Share | None = key(
        "Share of the cans that come dented or short; none where left out.",
        "odd_share",
        example="0.1 %",
    )
    odd_cans_narrower: f.Gap | None = key(
        "By how much narrower such a can is met by its neighbours: its dent, or the gap it leaves "
        "at their tops.",
        "odd_by_mm",
        example="2 mm",
    )


class GaugesTable(Table):
    """Metal thicknesses, from which mass and centre of gravity follow where not measured."""

    base: f.ExactLength | None = key("Thickness of the base.", "base_mm", example="0.25 mm")
    thin_wall: f.ExactLength | None = key(
        "Thickness of the ironed wall.", "thin_wall_mm", example="0.1 mm"
    )
    thick_wall: f.ExactLength | None = key(
        "Thickness of the wall's thick band at the open end.", "thick_wall_mm", example="0.16 mm"
    )
    thick_length: f.ExactGap | None = key(
        "Height of the thick band.", "thick_length_mm", example="16 mm"
    )
    density: f.MetalDensity | None = key("Density of the metal.", "density_kg_per_m3")


class SizeTable(Table):
    """One can size: a catalogue entry with any values of your own, or a can of your own."""

    name: f.Name = must("Your name for it.", example="211 body")
    catalogue: f.CatalogueId | None = key(
        "Catalogue id; leave out for your own can.", example="us_12oz_std"
    )
    metal: Annotated[str, Choice(same(METALS))] | None = key(
        "What it is made of; aluminium where left out."
    )
    gauges: GaugesTable | None = key("Its thicknesses.")
    diameter: f.Length | None = key(
        "Outside diameter of the body; readings of five bodies or more give its tolerance too.",
        "diameter_mm",
        example="66.1 mm",
    )
    diameter_tol: f.Gap | None = key(
        "Plus/minus tolerance of the diameter.", "diameter_tol_mm", example="0.1 mm"
    )
    height: f.Length | None = key(
        "Height of the trimmed, un-necked body.", "height_mm", example="124 mm"
    )
    mass: f.Mass | None = key("Mass of the dry body.", "mass_kg")
    cg_height: f.Length | None = key(
        "Height of the dry body's centre of gravity, open end down.", "cg_mm", example="67 mm"
    )
    dome_depth: f.Gap | None = key("Depth of the dome recess.", "dome_depth_mm", example="10.5 mm")
    dome_rim_radius: f.Gap | None = key(
        "Radius of the dome recess's rim.", "dome_rim_radius_mm", example="23 mm"
    )
    expansion: f.Expansion | None = key(
        "Thermal expansion of the metal.", "expansion_per_K", example="2.4e-5 1/K"
    )
    specific_heat: f.Heat | None = key(
        "Specific heat of the metal.", "specific_heat_J_per_kgK", example="897 J/(kg K)"
    )
    assumed: list[AssumedTable] = key(
        "Which of these nobody measured.", default=[], max_length=MAX_ROWS
    )


class GuidesTable(Table):
    """What the side guides are made of; in [guides] for every stage, in a stage for that one."""

    wire_heights: list[f.Length] | None = key(
        "Heights of the guide wires above the mat, lowest first.",
        "wires.heights_mm",
        example="30 mm",
        min_length=1,
        max_length=100,
    )
    wire_ends_fixed: bool | None = key(
        "true: both ends of a wire are fixed; false: a take-up keeps the tension.",
        "wires.anchored",
        True,
        "both wire ends taken as fixed",
    )
    tension: f.Force | None = key("Wire tension as set, cold.", "wires.tension_N", 600.0, GUESS)
    wire_mass: f.LineMass | None = key(
        "Wire mass per length.", "wires.mass_kg_per_m", 0.0565, _WIRE
    )
    wire_stiffness: f.Force | None = key(
        "Axial stiffness E A of a wire.", "wires.stiffness_N", 1.364e6, _WIRE, example="1364 kN"
    )
    wire_expansion: f.Expansion | None = key(
        "Thermal expansion of the wire.", "wires.expansion_per_K", 1.6e-5, "stainless steel"
    )
    bracket_spacing: f.Length | None = key(
        "Longest distance between brackets, where a stage lists none.",
        assumed=1000.0,
        why=GUESS,
        example="1000 mm",
    )
    setting_temperature: f.Temperature | None = key(
        "Temperature at which the brackets were set.",
        "setting_temperature_C",
        20.0,
        "set in a cold, idle machine",
        example="20 degC",
    )
    smallest_bracket_step: f.ExactGap | None = key(
        "Smallest step a bracket can be set to.",
        "setting_step_mm",
        1.0,
        "set with a rule marked in millimetres",
        example="1 mm",
    )
    step_at_brackets: f.Gap | None = key(
        "How far the guide faces stand in at each bracket; none where left out.",
        "step_mm",
        example="0.5 mm",
    )
    guide_wear_each_side: f.Gap | None = key(
        "Wear of one guide face; both sides are taken as worn alike.",
        "wear_mm",
        0.0,
        "taken as new",
        example="0.2 mm",
    )
    shape: Annotated[str, Choice(same(SHAPES))] | None = key(
        "straight: every bracket is meant to stand alike. funnel: they narrow or widen on purpose "
        "and move together; slack is judged at the narrowest. Where left out, three brackets or "
        f"more that narrow or widen steadily by over {FUNNEL_MM:g} mm are taken for a funnel.",
        "shape",
        example="funnel",
    )
    bracket_min: f.Place | None = key(
        "Least distance from its mat edge at which a bracket can set a guide; with bracket_max.",
        "travel_mm.0",
        example="60 mm",
    )
    bracket_max: f.Place | None = key(
        "Greatest such distance; with bracket_min.", "travel_mm.1", example="260 mm"
    )
    frame_expansion: f.Expansion | None = key(
        "Thermal expansion of the frame that carries the brackets.",
        "frame_expansion_per_K",
        1.6e-5,
        "stainless steel",
    )
