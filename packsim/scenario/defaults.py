"""What stands in for a value the file leaves out; every use of one is put on record.

None of these is measured on any line. Wire figures are those of a 3 mm round stainless wire,
8.0 g/cm³ and 193 GPa: ρ·π·9/4 = 56.5 g/m, E·π·9/4 = 1.364 MN (derived here; density and
modulus from memory of any materials table).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from packsim.assumption import Assumption
from packsim.scenario import kinds as k
from packsim.scenario.quantities import Kind, show_quantity

__all__ = ["DEFAULTS", "KICKS", "UNTRIED", "Default", "Ledger", "pool_default"]


@dataclass(frozen=True, slots=True)
class Default:
    """One value that stands in, in the unit its kind has inside, and why that one."""

    value: float
    kind: Kind
    why: str


_GUESS: Final = "common practice, no source; measure it on your line"

DEFAULTS: Final[dict[str, Default]] = {
    "factor": Default(2.0, k.FACTOR, "our choice: half of the safe slack is held back"),
    "mat.open_area": Default(0.6, k.SHARE, "an open mesh; " + _GUESS),
    "mat.friction": Default(0.5, k.FRICTION, "low end of what cleaned cans show"),
    "mat.mass_per_area": Default(9.2, k.AREA_MASS, "flat-wire mat, 1 x 1 in openings, by geometry"),
    "mat.specific_heat": Default(500.0, k.HEAT, "stainless steel, from memory of a table"),
    "guides.tension": Default(600.0, k.FORCE, _GUESS),
    "guides.wire_mass": Default(0.0565, k.LINE_MASS, "3 mm round stainless wire"),
    "guides.wire_stiffness": Default(1.364e6, k.FORCE, "3 mm round stainless wire"),
    "guides.wire_expansion": Default(1.6e-5, k.EXPANSION, "stainless steel"),
    "guides.bracket_spacing": Default(1000.0, k.LENGTH, _GUESS),
    "guides.setting_temperature": Default(20.0, k.TEMPERATURE, "set in a cold, idle machine"),
    "guides.setting_step": Default(1.0, k.GAP, "set with a rule marked in millimetres"),
    "guides.wear": Default(0.0, k.GAP, "taken as new"),
    "guides.frame_expansion": Default(1.6e-5, k.EXPANSION, "stainless steel"),
    "temperature": Default(20.0, k.TEMPERATURE, "taken as cold"),
    "fill": Default(1.0, k.FILL, "the infeed is taken to keep up"),
    "pack_pressure": Default(0.0, k.LINE_FORCE, "the pack is taken not to push"),
    "kicks.step": Default(0.2, k.GAP, "invented; no measurement known"),
    "kicks.drift": Default(0.0, k.DRIFT, "the mat is taken to track straight"),
    "headers.thin_angle": Default(0.13962634015954636, k.ANGLE, "a flat fan; " + _GUESS),
    "headers.velocity_coefficient": Default(0.95, k.VELOCITY_SHARE, _GUESS),
    "headers.density": Default(1e-6, k.DENSITY, "water; wash liquids are within 2 %"),
}

UNTRIED: Final = "invented; nobody has measured it and no trial has fitted it here"

KICKS: Final[dict[str, tuple[float, float]]] = {
    "flood": (0.05, 2.0),
    "rinse": (0.03, 1.0),
    "blow-off": (0.04, 2.0),
    "drain": (0.02, 0.5),
    "oven": (0.02, 0.5),
}
"""Energy [mJ] and rate [1/s] of a kick by duty: invented, ordered by how rough a duty is."""


def pool_default(duty: str) -> Default:
    """Return how full the dome recesses are taken to be: the worse case that the duty allows."""
    if duty == "oven":
        return Default(0.0, k.SHARE, "dried")
    return Default(1.0, k.SHARE, "the worse case: brim full")


@dataclass(slots=True)
class Ledger:
    """Collects the assumptions made while one scenario is built."""

    entries: dict[str, Assumption] = field(default_factory=dict)

    def note(self, key: str, value: str, why: str) -> None:
        """Put one assumption on record, once."""
        self.entries.setdefault(key, Assumption(key, value, why))

    def take(self, key: str, given: float | None, default: Default) -> float:
        """Return ``given``, or the default after putting it on record under ``key``."""
        if given is not None:
            return given
        self.note(key, show_quantity(default.value, default.kind), default.why)
        return default.value

    def carry(self, entry: Assumption) -> None:
        """Take over an entry the file carries, unless the value under its key has changed."""
        mine = self.entries.get(entry.key)
        if mine is None or mine.value == entry.value:
            self.entries[entry.key] = entry

    def ordered(self) -> tuple[Assumption, ...]:
        """Return the record in the order of its keys, numbers as numbers."""
        return tuple(sorted(self.entries.values(), key=lambda entry: _natural(entry.key)))


def _natural(key: str) -> list[tuple[int, int, str]]:
    parts = re.findall(r"[0-9]{1,9}|[^0-9]+|[0-9]+", key)
    return [(0, int(p), "") if p.isdecimal() and len(p) < 10 else (1, 0, p) for p in parts]
