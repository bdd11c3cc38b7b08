"""Tables of what stands along the whole line: mat, can sizes, guides."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from packsim.catalogue import METALS
from packsim.scenario import kinds as k
from packsim.scenario.fields import (
    Choice,
    Expansion,
    Force,
    Gap,
    Heat,
    Length,
    Name,
    Of,
    Place,
    Share,
    Table,
    Temperature,
    Text,
)

__all__ = ["MAX_ROWS", "AssumedTable", "GaugesTable", "GuidesTable", "MatTable", "SizeTable"]

MAX_ROWS: Final = 5000
"""Longest lists a file may hold; a stage has a few dozen brackets and headers."""


class AssumedTable(Table):
    """One value of this file that nobody measured; saved files carry these along."""

    key: Name = Field(description="Path of the value.")
    value: Text = Field(description="The value as a person would write it.")
    why: Text = Field(description="Where it comes from.")


class MatTable(Table):
    """The moving mat."""

    width: Length = Field(description="Usable width.")
    speed: Annotated[float, Of(k.SPEED)] = Field(description="Speed.")
    open_area: Share | None = Field(default=None, description="Share open to sprays from below.")
    friction: Annotated[float, Of(k.FRICTION)] | None = Field(
        default=None, description="Coefficient of static friction under a can."
    )
    mass_per_area: Annotated[float, Of(k.AREA_MASS)] | None = Field(
        default=None, description="Mass per area."
    )
    specific_heat: Heat | None = Field(default=None, description="Specific heat of its material.")


class GaugesTable(Table):
    """Metal thicknesses, from which mass and centre of gravity follow where not measured."""

    base: Length | None = Field(default=None, description="Thickness of the base.")
    thin_wall: Length | None = Field(default=None, description="Thickness of the ironed wall.")
    thick_wall: Length | None = Field(
        default=None, description="Thickness of the wall's thick band at the open end."
    )
    thick_length: Gap | None = Field(default=None, description="Height of the thick band.")
    density: Annotated[float, Of(k.METAL_DENSITY)] | None = Field(
        default=None, description="Density of the metal."
    )


class SizeTable(Table):
    """One can size: a catalogue entry with any values of your own, or a can of your own."""

    name: Name = Field(description="Your name for it.")
    catalogue: Name | None = Field(
        default=None, description="Catalogue id; leave out for your own can."
    )
    metal: Annotated[str, Choice(METALS)] | None = Field(
        default=None, description="What it is made of; aluminium where left out."
    )
    gauges: GaugesTable | None = Field(default=None, description="Its thicknesses.")
    diameter: Length | None = Field(default=None, description="Outside diameter of the body.")
    diameter_tol: Gap | None = Field(
        default=None, description="Plus/minus tolerance of the diameter."
    )
    height: Length | None = Field(
        default=None, description="Height of the trimmed, un-necked body."
    )
    mass: Annotated[float, Of(k.MASS)] | None = Field(
        default=None, description="Mass of the dry body."
    )
    cg_height: Length | None = Field(
        default=None, description="Height of the dry body's centre of gravity, open end down."
    )
    dome_depth: Gap | None = Field(default=None, description="Depth of the dome recess.")
    dome_rim_radius: Gap | None = Field(
        default=None, description="Radius of the dome recess's rim."
    )
    expansion: Expansion | None = Field(default=None, description="Thermal expansion of the metal.")
    specific_heat: Heat | None = Field(default=None, description="Specific heat of the metal.")
    assumed: list[AssumedTable] = Field(
        default=[], max_length=MAX_ROWS, description="Which of these nobody measured."
    )


class GuidesTable(Table):
    """What the side guides are made of; in [guides] for every stage, in a stage for that one."""

    wire_heights: list[Length] | None = Field(
        default=None,
        min_length=1,
        max_length=100,
        description="Heights above the mat, lowest first.",
    )
    tension: Force | None = Field(default=None, description="Wire tension as set, cold.")
    wire_mass: Annotated[float, Of(k.LINE_MASS)] | None = Field(
        default=None, description="Wire mass per length."
    )
    wire_stiffness: Force | None = Field(default=None, description="Axial stiffness E A of a wire.")
    wire_expansion: Expansion | None = Field(
        default=None, description="Thermal expansion of the wire."
    )
    anchored: bool | None = Field(
        default=None, description="true: both wire ends fixed; false: a take-up keeps the tension."
    )
    bracket_spacing: Length | None = Field(
        default=None, description="Longest distance between brackets, where a stage lists none."
    )
    setting_temperature: Temperature | None = Field(
        default=None, description="Temperature at which the brackets were set."
    )
    setting_step: Gap | None = Field(default=None, description="Smallest step a bracket is set to.")
    wear: Gap | None = Field(default=None, description="Wear of one guide face.")
    travel_near: Place | None = Field(
        default=None, description="Nearest a face can be set to its mat edge; with travel_far."
    )
    travel_far: Place | None = Field(
        default=None, description="Farthest, likewise; with travel_near."
    )
    frame_expansion: Expansion | None = Field(
        default=None, description="Thermal expansion of the frame that carries the brackets."
    )
