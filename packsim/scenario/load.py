"""A scenario file in, a `Scenario` out; all that is wrong with it is one error."""

from __future__ import annotations

import warnings
from pathlib import Path

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario.build import build_scenario
from packsim.scenario.complaints import written
from packsim.scenario.sense import doubtful
from packsim.scenario.tables import FittedFile, FittedTable, ScenarioFile
from packsim.scenario.text_in import (
    TomlPlaces,
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
        Checked and frozen, with everything assumed on record. `UnlikelyValue` is warned of for
        each value that `doubtful` asks about.

    Raises
    ------
    InputError
        Naming the file, the key path, what was there and what is allowed.
    """
    place = Path(path)
    given = None if fitted is None else load_fitted(fitted)
    scenario = parse_scenario(read_text(place), shown(place), place.parent, given)
    for one in doubtful(scenario):
        said = f"{shown(place)}: {one.key}: {one.got} is unlikely; please take {one.allowed}"
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
        return build_scenario(tables, given)
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
