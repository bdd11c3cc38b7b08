"""A scenario file in, a `Scenario` out; all that is wrong with it is one error."""

import math
import warnings
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Any

from packsim.catalogue import catalogue_sizes
from packsim.errors import InputError
from packsim.line import Doubt, Scenario
from packsim.scenario.build import build_scenario
from packsim.scenario.complaints import did_you_mean, written
from packsim.scenario.tables import FittedFile, FittedTable, ScenarioFile
from packsim.scenario.text_in import (
    TomlPlaces,
    as_written,
    checked_tables,
    current,
    placed,
    read_text,
    shown,
)


class UnlikelyValue(UserWarning):
    """A value can be, but hardly is; the text asks about it."""


def load_scenario(path: str | Path, fitted: str | Path | None = None) -> Scenario:
    """Read a scenario file.

    Parameters
    ----------
    path : str or Path
        A TOML file in the layout of shared/scenario.schema.json.
    fitted : str or Path, optional
        File of kicks fitted to trials, instead of the one the scenario includes.

    Returns
    -------
    Scenario
        Checked and frozen, with everything assumed on record, and what to ask about in its
        ``doubts``; `UnlikelyValue` is warned of for each of those.

    Raises
    ------
    InputError
        Naming the file, the key path, what was there and what is allowed.
    """
    place = Path(path)
    given = None if fitted is None else load_fitted(fitted)
    scenario = parse_scenario(read_text(place), shown(place), place.parent, given)
    for one in scenario.doubts:
        said = f"{shown(place)}: {one.key}: {one.text} is unlikely; usual is {one.usual}"
        said += f"; {one.question}" if one.question else ""
        warnings.warn(said, UnlikelyValue, stacklevel=2)
    return scenario


def load_fitted(path: str | Path) -> dict[str, FittedTable]:
    """Read a file of kicks fitted to trials, a table ``[kicks.<duty>]`` each; return them by duty.

    Raises `InputError` as `load_scenario`.
    """
    place = Path(path)
    file = shown(place)
    text = read_text(place, "a file of fitted kicks")
    text, data = current(text, file, "fitted kicks", numbered=False)
    try:
        return checked_tables(data, FittedFile).kicks
    except InputError as problem:
        raise placed(problem, file, data, TomlPlaces(text).of) from None


def included_kicks(path: str | Path, fitted: str | Path | None = None) -> dict[str, FittedTable]:
    """Return the fitted kicks a scenario rests on by duty, with their intervals; none is empty."""
    if fitted is not None:
        return load_fitted(fitted)
    place = Path(path)
    _, data = current(read_text(place), shown(place), "a scenario")
    return _included(data.get("include"), place.parent)


def parse_scenario(
    text: str,
    file: str = "<text>",
    folder: Path | None = None,
    fitted: dict[str, FittedTable] | None = None,
) -> Scenario:
    """Read a scenario from text.

    Parameters
    ----------
    text : str
        What such a file holds.
    file : str
        Name for complaints.
    folder : Path, optional
        Where an included file is looked for; without it there can be none.
    fitted : dict of FittedTable, optional
        Kicks fitted to trials by duty, instead of an included file.

    Returns
    -------
    Scenario
        As `load_scenario`.

    Raises
    ------
    InputError
        As `load_scenario`.
    """
    text, data = current(text, file, "a scenario")
    try:
        tables = checked_tables(data, ScenarioFile)
        given = _included(tables.include, folder) if fitted is None else fitted
        scenario = build_scenario(tables, given)
        return replace(scenario, doubts=doubtful(scenario, data))
    except InputError as problem:
        if problem.file is not None:  # of the file it includes
            raise
        raise placed(problem, file, data, TomlPlaces(text).of) from None


def _included(name: str | None, folder: Path | None) -> dict[str, FittedTable]:
    if name is None:
        return {}
    if folder is None:
        raise InputError("include", written(name), "nothing, in a text that is no file")
    return load_fitted(folder / name)


def doubtful(scenario: Scenario, data: dict[str, Any] | None = None) -> tuple[Doubt, ...]:
    """Return the values of a scenario that can be, but hardly are.

    A stage shorter than a tenth of the usual one of the line, or longer than ten of it; a can
    wider, narrower, taller or lower than any known body by a quarter. ``data`` is what the file
    holds, for the values as it has them.
    """
    found = []
    lengths = [stage.length_mm for stage in scenario.stages]
    for i, stage in enumerate(scenario.stages):
        others = lengths[:i] + lengths[i + 1 :]
        usual = median(others) if others else stage.length_mm
        longest = 10.0 if len(others) > 1 else math.inf  # of two, the short one is asked about
        if not 0.1 < stage.length_mm / usual < longest:
            doubt = _doubt(f"stages[{i}].length", stage.length_mm, (0.3 * usual, 3.0 * usual), data)
            found.append(replace(doubt, stage=stage.name))
    rows = catalogue_sizes()
    for j, can in enumerate(scenario.sizes):
        for key, value, known in (
            ("diameter", can.diameter_mm, [row.diameter_mm.value for row in rows]),
            ("height", can.height_mm, [row.trimmed_height_mm.value for row in rows]),
        ):
            low, high = 0.8 * min(known), 1.25 * max(known)
            if not low <= value <= high:
                doubt = _doubt(f"sizes[{j}].{key}", value, (low, high), data)
                found.append(replace(doubt, size=can.name))
    return tuple(found)


def _doubt(
    key: str, value_mm: float, usual_mm: tuple[float, float], data: dict[str, Any] | None
) -> Doubt:
    """Ask about a value; where no file says in which unit it was written, two are tried."""
    low, high = usual_mm
    units = {"mm": 1.0, "in": 25.4, "ft": 304.8}
    texts = sorted((f"{value_mm / size:.9g} {unit}" for unit, size in units.items()), key=len)[:2]
    written_so = as_written(data or {}, key, None)
    text = f"{value_mm:g} mm" if written_so is None else str(written_so)
    asked = filter(None, (did_you_mean(one, low, high) for one in ([text] if data else texts)))
    return Doubt(key, text, f"{low:.4g} to {high:.4g} mm", next(asked, ""))
