"""A number nobody measured here, carried along so that every output resting on it can say so."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Assumption:
    """One assumed value.

    Parameters
    ----------
    key : str
        What is assumed, e.g. ``stages[0].kicks.energy``.
    value : str
        The value with its metric unit, as a person would write it.
    why : str
        Where it comes from, or that it comes from nowhere yet.
    number : float, optional
        The value in ``unit``; None for a word, which reads the same in every unit system.
    unit : str
        Metric unit of the number as a scenario file writes it; empty for a ratio.
    """

    key: str
    value: str
    why: str
    number: float | None = field(default=None, compare=False)
    unit: str = field(default="", compare=False)

    @classmethod
    def measured_nowhere(cls, key: str, number: float, unit: str, why: str) -> Assumption:
        """Return the assumption of a number in a metric unit, its value worded here."""
        return cls(key, readable(number, unit), why, number, unit)

    def __str__(self) -> str:
        return f"{self.key} = {self.value} (assumed: {self.why})"


def readable(number: float, unit: str, digits: int = 6) -> str:
    """Return a number and its unit without powers of ten.

    Examples
    --------
    >>> readable(1.364e6, "N"), readable(600.0, "N"), readable(1.6e-5, "1/K"), readable(0.6, "")
    ('1.364 MN', '600 N', '16 µm/(m K)', '0.6')
    """
    if unit == "1/K":
        number, unit = number * 1e6, "µm/(m K)"
    elif unit in {"N", "lbf"} and abs(number) >= 1e5:
        number, unit = (number / 1e6, "MN") if unit == "N" else (number / 1e3, "thousand lbf")
    text = f"{number:.{digits}g}"
    return f"{f'{number:.0f}' if 'e+' in text else text} {unit}".rstrip()
