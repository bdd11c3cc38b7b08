"""A scenario file in, a `Scenario` out; whatever is wrong with it is one `InputError`."""

from __future__ import annotations

from pathlib import Path

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario.build import build_scenario
from packsim.scenario.complaints import written
from packsim.scenario.tables import SCHEMA, FittedFile, FittedTable, ScenarioFile
from packsim.scenario.text_in import (
    MAX_BYTES,
    as_written,
    checked_tables,
    read_text,
    read_toml,
    shown,
)

__all__ = ["MAX_BYTES", "included_kicks", "load_fitted", "load_scenario", "parse_scenario"]


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
        Checked and frozen, with everything assumed on record.

    Raises
    ------
    InputError
        Naming the file, the key path, what was there and what is allowed.
    """
    place = Path(path)
    given = None if fitted is None else load_fitted(fitted)
    return parse_scenario(read_text(place), shown(place), place.parent, given)


def load_fitted(path: str | Path) -> dict[str, FittedTable]:
    """Read a file of fitted kicks.

    Parameters
    ----------
    path : str or Path
        A TOML file with a table ``[kicks.<duty>]`` for each duty.

    Returns
    -------
    dict of FittedTable
        By duty.

    Raises
    ------
    InputError
        As `load_scenario`.
    """
    place = Path(path)
    file = shown(place)
    data = read_toml(read_text(place, "a file of fitted kicks"), file, "fitted kicks")
    return checked_tables(data, FittedFile, file).kicks


def included_kicks(path: str | Path, fitted: str | Path | None = None) -> dict[str, FittedTable]:
    """Return the fitted kicks a scenario rests on, with their intervals.

    Parameters
    ----------
    path, fitted : str or Path
        As for `load_scenario`.

    Returns
    -------
    dict of FittedTable
        By duty; empty where nothing is included.
    """
    if fitted is not None:
        return load_fitted(fitted)
    place = Path(path)
    file = shown(place)
    tables = checked_tables(read_toml(read_text(place), file), ScenarioFile, file)
    return _included(tables.include, file, place.parent)


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
    data = read_toml(text, file)
    if "schema" in data and (type(data["schema"]) is not int or data["schema"] != SCHEMA):
        allowed = f"the whole number {SCHEMA}, the only layout there is so far"
        raise InputError("schema", written(data["schema"]), allowed, file=file)
    tables = checked_tables(data, ScenarioFile, file)
    if fitted is None:
        fitted = _included(tables.include, file, folder)
    try:
        return build_scenario(tables, fitted)
    except InputError as problem:
        got = as_written(data, problem.key, problem.got)
        raise InputError(problem.key, got, problem.allowed, file=file) from None


def _included(name: str | None, file: str, folder: Path | None) -> dict[str, FittedTable]:
    if name is None:
        return {}
    if folder is None:
        raise InputError("include", written(name), "nothing, in a text that is no file", file=file)
    return load_fitted(folder / name)
