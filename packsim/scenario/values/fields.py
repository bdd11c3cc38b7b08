"""The kinds of values in a line's file, one a name: a length, a pressure, a share of the water.

A range catches slips of the keyboard, not bad engineering.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from pydantic import AfterValidator

from packsim.catalogue import size_row
from packsim.errors import InputError
from packsim.scenario.values.readers import Named, Names, Of, Range, Words, refusal


def kind_of(annotated: Any) -> Of:
    """Return the kind of a quantity that a field is annotated with, such as `Length`."""
    kind: Of = annotated.__metadata__[0]
    return kind


def _exactly(annotated: Any) -> Of:
    """Return the kind of a quantity as one that takes no ±."""
    return replace(kind_of(annotated), exact=True)


Name = Annotated[str, Words(200, blank=False)]


def _listed(name: str) -> str:
    """Return an id that the catalogue has; refused here, it is said beside what else is wrong."""
    try:
        return size_row(name).id
    except InputError as unknown:
        raise refusal(unknown.allowed) from None


CatalogueId = Annotated[Name, AfterValidator(_listed)]
Text = Annotated[str, Words(8000)]
Paths = Annotated[tuple[str, ...], Names(300, blank=False)]
Length = Annotated[float, Of("a length", "mm", 0.0, 1e6, '"66.1 mm" or "2 11/16 in"', above=True)]
StandOff = Annotated[float, Of("a length", "mm", 0.0, 3000.0, '"260 mm" or "10 in"', above=True)]
Bore = Annotated[float, Of("an inside diameter", "mm", 5.0, 1000.0, '"52.5 mm" or "2 in"')]
Roughness = Annotated[float, Of("a roughness", "mm", 0.0, 5.0, '"0.045 mm"')]
Gap = Annotated[float, Of("a length", "mm", 0.0, 1e6, '"0.5 mm"')]
Stations = Annotated[
    float, Of("a length or a list of lengths", "mm", 0.0, 1e6, '"600 mm" or ["2 ft", "4 ft"]')
]
Place = Annotated[float, Of("a place", "mm", -1e6, 1e6, '"33 mm"')]
Temperature = Annotated[float, Of("a temperature", "degC", -50.0, 600.0, '"60 degC" or "140 degF"')]
Share = Annotated[float, Of("a share", "", 0.0, 1.0, '0.6 or "60 %"')]
Acceleration = Annotated[
    float, Of("an acceleration", "m/s^2", 0.0, 100.0, '"0.5 m/s^2"', inside="mm/s^2")
]
Side = Annotated[float, Named(kind_of(Share), {"left": 0.0, "centre": 0.5, "right": 1.0})]
ShareRange = Annotated[tuple[float, float], Range(kind_of(Share))]
Expansion = Annotated[float, Of("an expansion per kelvin", "1/K", 0.0, 0.01, '"1.6e-5 1/K"')]
Heat = Annotated[float, Of("a specific heat", "J/(kg K)", 0.0, 1e5, '"500 J/(kg K)"', above=True)]
Force = Annotated[float, Of("a force", "N", 0.0, 1e9, '"600 N" or "135 lbf"', above=True)]
Energy = Annotated[float, Of("an energy", "mJ", 0.0, 1e6, '"0.05 mJ"')]
Rate = Annotated[float, Of("a rate", "1/s", 0.0, 1e4, '"2 1/s"')]
Angle = Annotated[float, Of("an angle", "deg", 0.1, 170.0, '"60 deg"', inside="rad")]
Speed = Annotated[
    float, Of("a speed", "m/min", 0.0, 1000.0, '"6 m/min"', inside="mm/s", above=True)
]
Friction = Annotated[float, Of("a coefficient", "", 0.0, 10.0, "0.5")]
AreaMass = Annotated[float, Of("a mass per area", "kg/m^2", 0.0, 1000.0, '"9.2 kg/m^2"')]
MetalDensity = Annotated[
    float,
    Of("a density", "kg/m^3", 500.0, 25_000.0, '"2.72 g/cm^3" or "7850 kg/m^3"', exact=True),
]
Mass = Annotated[float, Of("a mass", "g", 0.0, 1e5, '"10.2 g"', inside="kg", above=True)]
LineMass = Annotated[float, Of("a mass per length", "g/m", 0.0, 1e4, '"50 g/m"', inside="kg/m")]
Drift = Annotated[float, Of("a speed to the right", "mm/s", -1e4, 1e4, '"0.5 mm/s"')]
Pressure = Annotated[
    float, Of("a pressure", "bar", 0.0, 1000.0, '"2.5 bar" or "45 psi"', inside="MPa")
]
Twist = Annotated[float, Of("an angle", "deg", -90.0, 90.0, '"15 deg"', inside="rad")]
Flow = Annotated[
    float,
    Of("a flow", "L/min", 0.0, 1e5, '"4 L/min" or "1.1 gal/min"', inside="mm^3/s", above=True),
]
RatedPressure = Annotated[
    float, Of("a pressure", "bar", 0.0, 1000.0, '"2.5 bar" or "45 psi"', inside="MPa", above=True)
]
VelocityShare = Annotated[float, Of("a share", "", 0.05, 1.0, "0.95")]
Density = Annotated[
    float,
    Of(
        "a density",
        "kg/m^3",
        0.0,
        3000.0,
        '"1000 kg/m^3" or "1.2 kg/m^3"',
        inside="kg/mm^3",
        above=True,
    ),
]
Fill = Annotated[float, Of("a share", "", 0.05, 1.0, '0.98 or "98 %"')]
LineForce = Annotated[float, Of("a force per length", "N/m", 0.0, 1e5, '"20 N/m"')]
Factor = Annotated[float, Of("a safety factor", "", 1.0, 1000.0, "2", exact=True)]
Splash = Annotated[float, Of("a splash factor", "", 1.0, 2.0, "1")]
ExactLength = Annotated[float, _exactly(Length)]
ExactGap = Annotated[float, _exactly(Gap)]
ExactPlace = Annotated[float, _exactly(Place)]
ExactSpeed = Annotated[float, _exactly(Speed)]
ExactEnergy = Annotated[float, _exactly(Energy)]
ExactRate = Annotated[float, _exactly(Rate)]
ExactFill = Annotated[float, _exactly(Fill)]
ExactAngle = Annotated[float, _exactly(Angle)]
