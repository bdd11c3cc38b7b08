"""Every kind of quantity a scenario file holds, with its unit for plain numbers and its range."""

from __future__ import annotations

from typing import Final

from packsim.scenario.quantities import Kind

LENGTH: Final = Kind(
    "a length", "mm", "mm", 0.0, 1e6, example='"66.1 mm" or "2 11/16 in"', above=True
)
GAP: Final = Kind("a length", "mm", "mm", 0.0, 1e6, example='"0.5 mm"')
PLACE: Final = Kind("a place", "mm", "mm", -1e6, 1e6, example='"33 mm"')
SPEED: Final = Kind("a speed", "m/min", "mm/s", 0.0, 1000.0, example='"6 m/min"', above=True)
DRIFT: Final = Kind("a speed to the right", "mm/s", "mm/s", -1e4, 1e4, example='"0.5 mm/s"')
FORCE: Final = Kind("a force", "N", "N", 0.0, 1e9, example='"600 N" or "135 lbf"', above=True)
LINE_FORCE: Final = Kind("a force per length", "N/m", "N/m", 0.0, 1e5, example='"20 N/m"')
TEMPERATURE: Final = Kind(
    "a temperature", "degC", "degC", -50.0, 600.0, example='"60 degC" or "140 degF"'
)
MASS: Final = Kind("a mass", "g", "kg", 0.0, 1e5, example='"10.2 g"', above=True)
LINE_MASS: Final = Kind("a mass per length", "g/m", "kg/m", 0.0, 1e4, example='"50 g/m"')
AREA_MASS: Final = Kind("a mass per area", "kg/m^2", "kg/m^2", 0.0, 1000.0, example='"9.2 kg/m^2"')
DENSITY: Final = Kind(
    "a density",
    "kg/m^3",
    "kg/mm^3",
    0.0,
    3000.0,
    example='"1000 kg/m^3" or "1.2 kg/m^3"',
    above=True,
)
METAL_DENSITY: Final = Kind(
    "a density", "kg/m^3", "kg/m^3", 500.0, 25_000.0, example='"2.72 g/cm^3" or "7850 kg/m^3"'
)
HEAT: Final = Kind(
    "a specific heat", "J/(kg K)", "J/(kg K)", 0.0, 1e5, example='"500 J/(kg K)"', above=True
)
EXPANSION: Final = Kind("an expansion per kelvin", "1/K", "1/K", 0.0, 0.01, example='"1.6e-5 1/K"')
PRESSURE: Final = Kind("a pressure", "bar", "MPa", 0.0, 1000.0, example='"2.5 bar" or "45 psi"')
RATED_PRESSURE: Final = Kind(
    "a pressure", "bar", "MPa", 0.0, 1000.0, example='"2.5 bar" or "45 psi"', above=True
)
FLOW: Final = Kind(
    "a flow", "L/min", "mm^3/s", 0.0, 1e5, example='"4 L/min" or "1.1 gal/min"', above=True
)
ANGLE: Final = Kind("an angle", "deg", "rad", 0.1, 170.0, example='"60 deg"')
TWIST: Final = Kind("an angle", "deg", "rad", -90.0, 90.0, example='"15 deg"')
ENERGY: Final = Kind("an energy", "mJ", "mJ", 0.0, 1e6, example='"0.05 mJ"')
RATE: Final = Kind("a rate", "1/s", "1/s", 0.0, 1e4, example='"2 1/s"')
SHARE: Final = Kind("a share", "", "", 0.0, 1.0, example='0.6 or "60 %"')
FILL: Final = Kind("a share", "", "", 0.05, 1.0, example='0.98 or "98 %"')
VELOCITY_SHARE: Final = Kind("a share", "", "", 0.05, 1.0, example="0.95")
FRICTION: Final = Kind("a coefficient", "", "", 0.0, 10.0, example="0.5")
FACTOR: Final = Kind("a safety factor", "", "", 1.0, 1000.0, example="2")
