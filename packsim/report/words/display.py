"""How a quantity with a unit is shown to a person, metric or in inches.

In inch mode lengths are in inches, pressures in psi, mat speeds in ft/min, temperatures in °F,
forces in lbf, heat in BTU. Can weights stay in grams and energies in millijoules, for which the
trade has no everyday inch unit. What a person sets with a rule (widths, heights, moves) is shown in
fractions of that rule: ``54 3/4+ in`` is a little more than the mark, ``54 3/4−`` a little less.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from packsim.constants import MM_PER_INCH, PSI_PER_MPA, UNIT_SYSTEMS
from packsim.errors import one_of
from packsim.report.words.numbers import ROWS, per_million, percent, signed, span, thousands
from packsim.width.guide_window import GuideWindow

"""Unit systems a person can ask for."""

N_PER_LBF: Final = 4.4482216152605
"""Pound-force, exact by the definitions of the pound and of standard gravity [N]."""

L_PER_GAL: Final = 3.785411784
"""US gallon, 231 in³, exact [L]."""

KJ_PER_BTU: Final = 1.05505585262
"""British thermal unit (International Table), exact by the pound and the degree Fahrenheit [kJ]."""

RULE: Final = Fraction(1, 32)
"""Marks of an everyday rule [in]."""

_LEAST_BY_RULE_MM: Final = 4 * float(RULE) * MM_PER_INCH
"""Nobody sets less than this with a rule."""

_ON_THE_MARK: Final = Fraction(1, 8)
"""Part of a step of the rule within which a value counts as on its mark."""


@dataclass(frozen=True, slots=True)
class Display:
    """Formats internal values for one unit system.

    Parameters
    ----------
    units : {"metric", "inch"}
        System of every value this object formats.

    Examples
    --------
    >>> Display("metric").length(12.345)
    '12.3 mm'
    >>> Display("inch").length(25.4)
    '1.000 in'
    """

    units: str = "metric"

    def __post_init__(self) -> None:
        one_of("units", self.units, UNIT_SYSTEMS)

    @property
    def metric(self) -> bool:
        """Whether lengths are in millimetres."""
        return self.units == "metric"

    @property
    def rule_step_mm(self) -> float | None:
        """Step of the rule that guides are set by; None for each stage's own setting step [mm].

        A sheet in fractions has to be exact: nobody can set what it rounds off.
        """
        return None if self.metric else MM_PER_INCH * float(RULE)

    @property
    def length_unit(self) -> str:
        """Unit of a length: ``mm`` or ``in``."""
        return "mm" if self.metric else "in"

    @property
    def lengths_in(self) -> str:
        """Say the unit of a table once: ``lengths in mm`` or ``lengths in inches``."""
        return f"lengths in {'mm' if self.metric else 'inches'}"

    @property
    def settings_in(self) -> str:
        """Say the unit of a table that holds settings of a rule too, and what its signs mean."""
        signs = "" if self.metric else "; + a little over the mark of the rule, − a little under"
        return self.lengths_in + signs

    def length_value(self, mm: float) -> float:
        """Return a length [mm] as a bare number in the unit of this display."""
        return mm if self.metric else mm / MM_PER_INCH

    def length(self, mm: float | None, *, signed: bool = False, unit: bool = True) -> str:
        """Format a length [mm]; a dash where there is none."""
        return self._length(mm, 1 if self.metric else 3, signed, unit)

    def bare(self, mm: float | None, *, signed: bool = False) -> str:
        """Format a length [mm] without its unit, for tables that name it once."""
        return self.length(mm, signed=signed, unit=False)

    def fine(self, mm: float, *, unit: bool = True) -> str:
        """Format a length [mm] that is repeated, such as a pitch: one digit more than `length`.

        Examples
        --------
        >>> Display("metric").fine(57.2356)
        '57.24 mm'
        """
        return self._length(mm, 2 if self.metric else 4, False, unit)

    def in_file(self, mm: float) -> str:
        """Write a length [mm] for a file that is read again, to six digits.

        Examples
        --------
        >>> Display("inch").in_file(1390.65)
        '54.75 in'
        """
        return f"{self.length_value(mm):.6g} {self.length_unit}"

    def _length(self, mm: float | None, digits: int, plus: bool, unit: bool) -> str:
        if mm is None or not math.isfinite(mm):
            return "–" if mm is None or math.isnan(mm) else "no limit"
        # no comma: a crew copies this number to a gauge
        text = signed(self.length_value(mm), digits, plus=plus).replace(",", "")
        return f"{text} {self.length_unit}" if unit else text

    def setting(self, mm: float | None, *, signed: bool = False, unit: bool = True) -> str:
        """Format a length [mm] a person sets with a rule: decimals of a mm, or its fractions.

        Examples
        --------
        >>> Display("inch").setting(1390.8), Display("inch").setting(1390.65)
        ('54 3/4+ in', '54 3/4 in')
        """
        if self.metric or mm is None or not math.isfinite(mm):
            return self.length(mm, signed=signed, unit=unit)
        text = self.fraction(mm)
        steps = abs(Fraction(mm)) / Fraction(254, 10) / RULE
        off = steps - round(steps)
        if abs(off) > _ON_THE_MARK:
            text += "+" if off > 0 else "−"
        text = f"+{text}" if signed and mm > 0.0 and text != "0" else text
        return f"{text} in" if unit else text

    def to_set(self, mm: float | None) -> str:
        """Format a length [mm] in advice: inches for a gauge, then the mark of the rule.

        Examples
        --------
        >>> Display("inch").to_set(1369.5), Display("inch").to_set(0.5)
        ('53.917 in [53 29/32+]', '0.020 in')
        """
        text = self.length(mm)
        if self.metric or mm is None or not math.isfinite(mm) or abs(mm) < _LEAST_BY_RULE_MM:
            return text
        return f"{text} [{self.setting(mm, unit=False)}]"

    def settings(self, lengths_mm: Iterable[float], *, unit: bool = True) -> str:
        """Format the range of settings [mm]: one where all read alike."""
        lengths = list(lengths_mm)
        ends = [self.setting(mm, unit=False) for mm in (min(lengths), max(lengths))]
        text = span(*ends) if self.metric or ends[0] == ends[1] else " to ".join(ends)
        return f"{text} {self.length_unit}" if unit else text

    def show(self, kind: str, value: Any, *, unit: bool = True) -> str:
        """Format the value of a quantity of one of `packsim.answers.quantity.KINDS`.

        Examples
        --------
        >>> Display().show("length", 12.345), Display().show("share", 0.1234)
        ('12.3 mm', '12.3 %')
        """
        sort = kind.removeprefix("signed ")
        if sort in ("length", "setting"):
            show = self.length if sort == "length" else self.setting
            return show(value, signed=sort != kind, unit=unit)
        if value is None or value == "":
            return "–"
        formats: dict[str, Callable[[Any], str]] = {
            "angle": self.angle,
            "index": self.index,
            "per million": per_million,
            "per metre": self._per_length,
            "speed": self.speed,
            "share": percent,
            "margin": lambda margin: signed(margin, 2),
            "force": lambda force: self.force(force, 3),
            "dose": lambda mL: f"{mL:.2f} mL",
            "flow": lambda flow: "{:.1f} {}".format(*self.flow_value(flow)),
            "time": lambda seconds: f"{seconds:.1f} s",
            "rate": thousands,
            "counts": lambda counts: ", ".join(f"{n} {name}" for name, n in counts.items()),
            "word": lambda word: ROWS.get(word, str(word)),
            "yes or no": lambda holds: "yes" if holds else "no",
        }
        return formats.get(kind, str)(value)

    def window(self, window: GuideWindow, *, unit: bool = False) -> str:
        """Format a guide window: its two ends, or that no setting is safe."""
        if window.empty:
            return "empty"
        return self.settings((window.low_mm, window.high_mm), unit=unit)

    def fraction(self, mm: float, step_inch: Fraction = RULE) -> str:
        """Format a length [mm] in inches with a fraction to the nearest step, without the unit.

        Examples
        --------
        >>> Display("inch").fraction(-39.7)
        '−1 9/16'
        """
        steps = round(Fraction(abs(mm)).limit_denominator(10_000) / Fraction(254, 10) / step_inch)
        whole, part = divmod(steps * step_inch, 1)
        sign = "−" if mm < 0 and steps else ""
        return sign + (" ".join(str(piece) for piece in (whole, part) if piece) or "0")

    def along(self, mm: float) -> str:
        """Format a place or a way along the line [mm], in metres or feet.

        Examples
        --------
        >>> Display("metric").along(5540.0), Display("inch").along(5540.0)
        ('5.54 m', '18.18 ft')
        """
        scale, unit = (1000.0, "m") if self.metric else (12.0 * MM_PER_INCH, "ft")
        return f"{signed(mm / scale, 2)} {unit}"

    def speed(self, mm_per_s: float) -> str:
        """Format a mat speed [mm/s] per minute."""
        return "{:.2f} {}".format(*self.speed_value(mm_per_s))

    def speed_value(self, mm_per_s: float) -> tuple[float, str]:
        """Return a mat speed [mm/s] as a number and its unit: m/min or ft/min."""
        scale, unit = (0.06, "m/min") if self.metric else (5.0 / MM_PER_INCH, "ft/min")
        return mm_per_s * scale, unit

    def pressure_value(self, megapascal: float) -> tuple[float, str]:
        """Return a gauge pressure [MPa] as a number and its unit: bar or psi."""
        return (megapascal * 10.0, "bar") if self.metric else (megapascal * PSI_PER_MPA, "psi")

    def flow_value(self, litres_per_min: float) -> tuple[float, str]:
        """Return a flow [L/min] as a number and its unit: L/min or US gal/min."""
        if self.metric:
            return litres_per_min, "L/min"
        return litres_per_min / L_PER_GAL, "gal/min"

    def strike_value(self, megapascal: float) -> tuple[float, str]:
        """Return the pressure of a spray [MPa] as a number and its unit: Pa or lbf/ft²."""
        if self.metric:
            return megapascal * 1e6, "Pa"
        return megapascal * PSI_PER_MPA * 144.0, "lbf/ft²"

    def impulse_value(self, newton_s: float) -> tuple[float, str]:
        """Return an impulse [N s] as a number and its unit: mN s or ozf s."""
        return (newton_s * 1e3, "mN s") if self.metric else (newton_s * 16.0 / N_PER_LBF, "ozf s")

    def force(self, newton: float, digits: int = 0, *, plus: bool = False) -> str:
        """Format a force [N]; inch mode shows as many figures in lbf."""
        if self.metric:
            return f"{signed(newton, digits, plus=plus)} N"
        return f"{signed(newton / N_PER_LBF, digits + 1, plus=plus)} lbf"

    def moment(self, newton_mm: float, *, plus: bool = False) -> str:
        """Format a moment [N·mm]."""
        if self.metric:
            return f"{signed(newton_mm, 3, plus=plus)} N·mm"
        return f"{signed(newton_mm / N_PER_LBF / MM_PER_INCH, 5, plus=plus)} lbf·in"

    def temperature(self, celsius: float) -> str:
        """Format a temperature [°C]."""
        text = f"{celsius:g} °C" if self.metric else f"{celsius * 1.8 + 32.0:g} °F"
        return text.replace("-", "−")

    def heat_value(self, kilojoule: float) -> tuple[float, str]:
        """Return a heat [kJ] as a number and its unit: kJ or BTU."""
        return (kilojoule, "kJ") if self.metric else (kilojoule / KJ_PER_BTU, "BTU")

    def heat_flow(self, kilowatt: float) -> str:
        """Format a heat flow [kW]."""
        if self.metric:
            return f"{kilowatt:.1f} kW"
        return f"{thousands(3600.0 * kilowatt / KJ_PER_BTU)} BTU per hour"

    def _per_length(self, per_metre: float) -> str:
        return f"{per_metre:.0f} /m" if self.metric else f"{0.3048 * per_metre:.0f} /ft"

    @staticmethod
    def angle(rad: float) -> str:
        """Format an angle [rad] in degrees."""
        return "none" if not math.isfinite(rad) else f"{signed(math.degrees(rad))}°"

    @staticmethod
    def index(value: float) -> str:
        """Format a tip index; a lean nothing stops has none, nor has a pack that does not fit."""
        if math.isfinite(value):
            return signed(value, 2)
        return "–" if math.isnan(value) else "unheld"
