"""A guide setting as a person names it: ``as-set``, ``window``, or a clear width."""

from __future__ import annotations

from collections.abc import Sequence

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario.ranges import read_value
from packsim.study.widths import at_width, at_window

__all__ = ["settings", "settings_mm", "two_settings_mm"]


def settings(
    scenario: Scenario, size: str, named: Sequence[str], units: str = "metric"
) -> dict[str, Scenario]:
    """Return the line at each guide setting, by its name.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    size : str
        Name of the size whose guide window counts.
    named : sequence of str
        ``as-set``, ``window`` or a clear width for every stage.
    units : {"metric", "inch"}
        Unit of a bare number.

    Raises
    ------
    InputError
        With the key ``guides``, if a name is none of these or the line cannot be set so.
    """
    return {name: _set(scenario, size, name, units) for name in named}


def _set(scenario: Scenario, size: str, name: str, units: str) -> Scenario:
    if name == "as-set":
        return scenario
    if name == "window":
        return at_window(scenario, size)
    try:
        return at_width(scenario, read_value("guides", "length", name, units))
    except InputError as refused:
        allowed = f"as-set, window, or a clear width: {refused.allowed}"
        raise InputError("guides", repr(name), allowed) from refused


def settings_mm(
    scenario: Scenario, size: str, named: Sequence[str], units: str = "metric"
) -> dict[str, list[float]]:
    """Return the clear width of every stage at each setting, as `settings` [mm]."""
    lines = settings(scenario, size, named, units)
    return {name: [s.guides.narrowest_mm for s in line.stages] for name, line in lines.items()}


def two_settings_mm(
    scenario: Scenario, size: str, named: Sequence[str], units: str = "metric"
) -> tuple[list[float], list[float]]:
    """Return the clear widths before and after [mm]; before is as set where one name is given."""
    if not 1 <= len(named) <= 2:
        allowed = "one setting (after), or two (before and after)"
        raise InputError("guides", f"{len(named)} settings", allowed)
    pair = [settings_mm(scenario, size, [name], units)[name] for name in ("as-set", *named)[-2:]]
    return pair[0], pair[1]
