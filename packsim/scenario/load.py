"""A scenario file in, a `Scenario` out; all that is wrong with it is one error."""

import math
import warnings
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from packsim.catalogue import catalogue_sizes
from packsim.errors import InputError, InputErrors
from packsim.line import Scenario, Unlikely
from packsim.line.input_range import InputRange, Ranges
from packsim.scenario.build import build_scenario
from packsim.scenario.complaints import complaints, written
from packsim.scenario.places import Homes, TomlPlaces, placed, unlikely_at
from packsim.scenario.tables import FittedFile, FittedTable, ScenarioFile
from packsim.scenario.text_files import current, read_text, shown

_Table = TypeVar("_Table", bound=BaseModel)


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
        ``unlikely``; `UnlikelyValue` is warned of for each of those.

    Raises
    ------
    InputError
        Naming the file, the key path, what was there and what is allowed.
    """
    place = Path(path)
    given = None if fitted is None else load_fitted(fitted)
    scenario = parse_scenario(read_text(place), shown(place), place.parent, given)
    for one in scenario.unlikely:
        said = f"{shown(place)}: {one.key}: {one.text} is unlikely; usual is {one.usual}"
        said += f"; {one.question}" if one.question else ""
        warnings.warn(said, UnlikelyValue, stacklevel=2)
    return scenario


def load_fitted(path: str | Path) -> dict[str, FittedTable]:
    """Read a file of kicks fitted to trials, a table ``[kicks.<duty>]`` each; return them by duty.

    Raises `InputError` as `load_scenario`.
    """
    file, text = shown(Path(path)), read_text(Path(path), "a file of fitted kicks")
    text, data = current(text, file, "fitted kicks", numbered=False)
    try:
        return checked_tables(data, FittedFile).kicks
    except InputError as problem:
        raise placed(problem, file, data, TomlPlaces(text).of) from None


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
    whole, homes = data, Homes()
    try:
        if _says_once(data):
            from packsim.scenario.once import written_out

            whole, homes = written_out(data)
        tables = checked_tables(whole, ScenarioFile)
        homes.fits = True
        if homes.complaints:
            raise InputErrors(homes.complaints)
        given = _included(tables.include, folder) if fitted is None else fitted
        scenario = build_scenario(tables, given)
        ranges = Ranges(partial(_input_ranges, tables, given, scenario))
        return replace(scenario, unlikely=unlikely_values(scenario, whole), ranges=ranges)
    except InputError as problem:
        raise placed(homes.all_of(problem), file, data, TomlPlaces(text).of) from None


def _input_ranges(
    tables: ScenarioFile, fitted: dict[str, FittedTable], scenario: Scenario
) -> tuple[InputRange, ...]:
    """Return the ranges of a scenario; what works them out is loaded when they are asked for."""
    from packsim.scenario.known.input_ranges import input_ranges

    return input_ranges(tables, fitted, scenario)


def _says_once(data: dict[str, Any]) -> bool:
    """Whether a file says anything once for several places, see `packsim.scenario.once`."""
    stages = data.get("stages")
    rows = [row for row in stages if isinstance(row, dict)] if isinstance(stages, list) else []
    lists = [row["headers"] for row in rows if isinstance(row.get("headers"), list)]
    rows += [row for each in lists for row in each if isinstance(row, dict)]
    return bool({"header_patterns", "every_stage"} & data.keys()) or any(
        {"like", "below"} & row.keys()
        or row.get("side") == "both"
        or isinstance(row.get("from_stage_start"), list)
        for row in rows
    )


def _included(name: str | None, folder: Path | None) -> dict[str, FittedTable]:
    if name is None:
        return {}
    if folder is None:
        raise InputError("include", written(name), "nothing, in a text that is no file")
    return load_fitted(folder / name)


def unlikely_values(scenario: Scenario, data: dict[str, Any] | None = None) -> tuple[Unlikely, ...]:
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
            one = unlikely_at(
                f"stages[{i}].length", stage.length_mm, (0.3 * usual, 3.0 * usual), data
            )
            found.append(replace(one, stage=stage.name))
    rows = catalogue_sizes()
    for j, can in enumerate(scenario.sizes):
        for key, value, known in (
            ("diameter", can.diameter_mm, [row.diameter_mm.value for row in rows]),
            ("height", can.height_mm, [row.trimmed_height_mm.value for row in rows]),
        ):
            low, high = 0.8 * min(known), 1.25 * max(known)
            if not low <= value <= high:
                one = unlikely_at(f"sizes[{j}].{key}", value, (low, high), data)
                found.append(replace(one, size=can.name))
    return tuple(found)


def checked_tables(data: dict[str, Any], model: type[_Table]) -> _Table:
    """Return data as the tables a file may hold, or complain of all that is wrong, key by key."""
    try:
        return model.model_validate(data)
    except ValidationError as problem:
        raise InputErrors(complaints(problem, model)) from None
    except RecursionError:
        raise InputError("", "tables nested very deep", "a few levels") from None
