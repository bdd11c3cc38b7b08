"""Values no line is likely to have: each becomes a question whether another unit was meant."""

from __future__ import annotations

from statistics import median
from typing import Final

from packsim.catalogue import catalogue_sizes
from packsim.errors import InputError
from packsim.line import Scenario

__all__ = ["did_you_mean", "doubtful"]

_MM: Final = {"mm": 1.0, "in": 25.4, "cm": 10.0, "ft": 304.8, "m": 1000.0}


def did_you_mean(value_mm: float, low_mm: float, high_mm: float, of: str = "") -> str:
    """Return a question naming the same number in another unit, or nothing.

    Parameters
    ----------
    value_mm : float
        The unlikely length [mm].
    low_mm, high_mm : float
        Between what a likely one lies [mm].
    of : str
        What the question is about, where that is not plain.

    Examples
    --------
    >>> did_you_mean(135.89, 1390.0, 2500.0)
    '; 5.35 in: did you mean 5.35 ft?'
    >>> did_you_mean(700.0, 500.0, 900.0)
    ''
    """
    likely = low_mm <= value_mm <= high_mm
    written = sorted(_MM, key=lambda unit: len(f"{value_mm / _MM[unit]:.9g}"))
    for unit in written[: 0 if likely else 2]:
        number = float(f"{value_mm / _MM[unit]:.9g}")
        for other, size in _MM.items():
            if other != unit and low_mm <= number * size <= high_mm:
                return f"; {of}{number:g} {unit}: did you mean {number:g} {other}?"
    return ""


def doubtful(scenario: Scenario) -> list[InputError]:
    """Return the values of a scenario that can be, but hardly are.

    Parameters
    ----------
    scenario : Scenario
        Any scenario.

    Returns
    -------
    list of InputError
        Not raised: for each doubtful value its key, the value, and what is usual with a question.
        A stage shorter than a tenth of the usual one of the line, or longer than ten of it; a can
        wider, narrower, taller or lower than any known body by a quarter.
    """
    found = []
    lengths = [stage.length_mm for stage in scenario.stages]
    for i, stage in enumerate(scenario.stages):
        others = lengths[:i] + lengths[i + 1 :]
        usual = median(others) if others else stage.length_mm
        if not 0.1 < stage.length_mm / usual < 10.0:
            found.append(_doubt(f"stages[{i}].length", stage.length_mm, 0.3 * usual, 3.0 * usual))
    rows = catalogue_sizes()
    for j, can in enumerate(scenario.sizes):
        for key, value, known in (
            ("diameter", can.diameter_mm, [row.diameter_mm.value for row in rows]),
            ("height", can.height_mm, [row.trimmed_height_mm.value for row in rows]),
        ):
            low, high = 0.8 * min(known), 1.25 * max(known)
            if not low <= value <= high:
                found.append(_doubt(f"sizes[{j}].{key}", value, low, high))
    return found


def _doubt(key: str, value_mm: float, low_mm: float, high_mm: float) -> InputError:
    usual = f"a look: {low_mm:.4g} to {high_mm:.4g} mm is usual"
    return InputError(key, f"{value_mm:g} mm", usual + did_you_mean(value_mm, low_mm, high_mm))
