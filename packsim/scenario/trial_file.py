"""A trial file in, TOML or CSV, trials out; all that is wrong with it is one error."""

import datetime as dt
import difflib
from collections.abc import Iterable
from pathlib import Path

from packsim.errors import InputError, InputErrors
from packsim.line import Scenario
from packsim.scenario.complaints import written
from packsim.scenario.keys import Ledger
from packsim.scenario.load import checked_tables
from packsim.scenario.places import TomlPlaces, placed
from packsim.scenario.sheets.cells import sheet_text
from packsim.scenario.sheets.trial_csv import tables_from_csv
from packsim.scenario.tables import StageRow, TrialFile, TrialRow
from packsim.scenario.text_files import current, read_text, shown
from packsim.trial.trial import StageCount, Trial


def load_trials(
    paths: Iterable[str | Path],
    scenario: Scenario,
    today: dt.date | None = None,
    *,
    line: str | None = None,
) -> tuple[Trial, ...]:
    """Read the trials of one or several files.

    Parameters
    ----------
    paths : iterable of str or Path
        TOML files, or sheets whose name ends in ``.csv``.
    scenario : Scenario
        The line they were run on.
    today : datetime.date, optional
        No trial is later than this; the day it is.
    line : str, optional
        Only trials of the line of this name.

    Returns
    -------
    tuple of Trial
        In the order of the files.

    Raises
    ------
    InputError
        Naming the file, the key or the line and column, what was there and what is allowed. The
        same trial in two files is refused too.
    """
    found: list[Trial] = []
    for path in paths:
        place = Path(path)
        kind = "csv" if place.suffix.lower() == ".csv" else "toml"
        text = (sheet_text if kind == "csv" else read_text)(place, "a trial file")
        for trial in parse_trials(text, scenario, shown(place), kind, today):
            if any((t.name, t.date, t.line) == (trial.name, trial.date, trial.line) for t in found):
                got = f"{written(trial.name)} of {trial.date} again"
                raise InputError("trials", got, "each trial once", file=shown(place))
            found.append(trial)
    used = tuple(trial for trial in found if line in (None, trial.line))
    if not used:
        known = ", ".join(sorted({repr(trial.line) for trial in found}))
        raise InputError("line", repr(line), f"a line of the trials: {known}")
    return used


def parse_trials(
    text: str,
    scenario: Scenario,
    file: str = "<text>",
    kind: str = "toml",
    today: dt.date | None = None,
) -> tuple[Trial, ...]:
    """Read trials from text, as `load_trials` does from files.

    ``kind`` is the layout of the text, "toml" or "csv"; ``file`` is its name for complaints.
    """
    day = today or dt.datetime.now(tz=dt.UTC).astimezone().date()
    if kind == "csv":
        data, cells = tables_from_csv(text, file)
    else:
        text, data = current(text, file, "trials")
    try:
        return _built(checked_tables(data, TrialFile), scenario, day)
    except InputError as problem:
        if kind == "toml":
            raise placed(problem, file, data, TomlPlaces(text).of) from None
        found = placed(problem, file, data, str).each
        said = [
            InputError(cells.of(one.key) or one.key, one.got, one.allowed, file) for one in found
        ]
        raise InputErrors(said) from None


def _built(tables: TrialFile, scenario: Scenario, day: dt.date) -> tuple[Trial, ...]:
    """Return the trials of checked tables, or complain of all that makes no sense together."""
    trials, ledger = [], Ledger()
    for i, row in enumerate(tables.trials):
        with ledger.complaining():
            trials.append(_trial(row, f"trials[{i}]", scenario, day))
            key = (row.name, row.date, row.line)
            if any((r.name, r.date, r.line) == key for r in tables.trials[:i]):
                got = f"{written(row.name)} of {row.date} again"
                raise InputError(f"trials[{i}].name", got, "each trial once, or another name")
    if ledger.complaints:
        raise InputErrors(ledger.complaints)
    return tuple(trials)


def _trial(row: TrialRow, here: str, scenario: Scenario, today: dt.date) -> Trial:
    if row.date > today:
        raise InputError(f"{here}.date", row.date, f"a day that has come, {today} at the latest")
    _known(f"{here}.size", row.size, [can.name for can in scenario.sizes])
    stages = _stages(row, here, scenario)
    whole = all(count.tipped is not None for count in stages)
    located = sum(count.tipped or 0 for count in stages)
    if row.tipped is None and not whole:
        raise InputError(f"{here}.tipped", "nothing", "the cans tipped, here or at every stage")
    tipped = located if row.tipped is None else row.tipped
    if tipped > row.cans:
        key = "tipped" if row.tipped is not None else "cans"
        raise InputError(f"{here}.{key}", tipped, f"no more tipped than the {row.cans} cans passed")
    if located > tipped or (whole and located < tipped):
        allowed = f"the sum of the stages, {located}"
        raise InputError(f"{here}.tipped", tipped, allowed if whole else f"at least {allowed}")
    try:
        return Trial(
            **Ledger().take(row, here),
            tipped=tipped,
            stages=stages,
            by_place=_told(row) or _summed(stages),
            remarks=" ".join(row.remarks.split()),
        )
    except InputError as problem:
        raise problem.under(here) from None


def _stages(row: TrialRow, here: str, scenario: Scenario) -> tuple[StageCount, ...]:
    names = [stage.name for stage in scenario.stages]
    diameter, mat = scenario.size(row.size).diameter_mm, scenario.mat.width_mm
    own: dict[str, tuple[StageRow, str]] = {}
    for j, part in enumerate(row.stages):
        at = f"{here}.stages[{j}]"
        _known(f"{at}.stage", part.stage, names)
        if part.stage in own:
            raise InputError(f"{at}.stage", f"{written(part.stage)} again", "each stage once")
        limits = {"tipped": row.cans, "tipped_left": part.tipped, "tipped_right": part.tipped}
        for key, most in limits.items():
            value = getattr(part, key)
            if value is not None and most is not None and value > most:
                raise InputError(f"{at}.{key}", value, f"no more than {most}")
        own[part.stage] = (part, at)
    counts = []
    for stage in scenario.stages:
        found, at = own.get(stage.name, (None, here))
        width = None if found is None else found.clear_width
        if width is None:
            at, width = here, row.clear_width or stage.guides.narrowest_mm
        if not diameter <= width <= mat:
            allowed = f"from one can, {diameter:g} mm, to the mat's width, {mat:g} mm"
            raise InputError(f"{at}.clear_width", f"{width:g} mm", allowed)
        tipped, places = (None, None) if found is None else (found.tipped, _told(found))
        counts.append(StageCount(stage.name, width, tipped, places))
    return tuple(counts)


def _summed(stages: Iterable[StageCount]) -> tuple[int, int, int] | None:
    """Left, centre and right of all stages; None where none is told."""
    told = [stage.by_place for stage in stages if stage.by_place is not None]
    if not told:
        return None
    left, centre, right = (sum(counts) for counts in zip(*told, strict=True))
    return left, centre, right


def _told(row: TrialRow | StageRow) -> tuple[int, int, int] | None:
    counts = (row.tipped_left, row.tipped_centre, row.tipped_right)
    if counts == (None, None, None):
        return None
    return (counts[0] or 0, counts[1] or 0, counts[2] or 0)


def _known(key: str, name: str, names: list[str]) -> None:
    if name in names:
        return
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    hint = f'"{near[0]}", or another of ' if near else "one of "
    raise InputError(key, written(name), hint + ", ".join(f'"{known}"' for known in names))
