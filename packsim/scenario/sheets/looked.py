"""What a photograph says of the pack, put into the scenario file it was taken for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from packsim.constants import MM_PER_INCH
from packsim.errors import InputError, InputErrors, printable
from packsim.line import Scenario
from packsim.look.known import Known
from packsim.look.measure import Looked
from packsim.scenario.complaints import key_path
from packsim.scenario.known.measured import limits
from packsim.scenario.load import parse_scenario
from packsim.scenario.new import QUESTIONS, new_text
from packsim.scenario.once import written_out
from packsim.scenario.sheets.in_place import NOT_THERE, Loc, put_values, value_at
from packsim.scenario.sheets.key_places import declared
from packsim.scenario.sheets.measured import Measured, NewValue, said
from packsim.scenario.text_files import current, read_text, read_toml, shown

_ROWS: Final = {"lengthwise": "along", "crosswise": "across"}

_LISTED: Final = (
    "the stage lists its brackets one by one: the clear width of one picture is not written; "
    "tape each bracket"
)

_LEAST: Final = 0.0005
"""Nothing is written to be known better: a part in two thousand of a share, half a micrometre."""


def load_looked(
    place: Path,
    looked: Looked,
    stage: str | None = None,
    kicks: Mapping[str, Known] | None = None,
) -> Measured:
    """Return a scenario file with what a photograph says of the pack; the file is not touched.

    Parameters
    ----------
    place : Path
        The scenario file.
    looked : Looked
        What the photograph says.
    stage : str, optional
        Stage it was taken at. At the infeed if left out: the clear width is then the first stage's,
        and how the rows run and how full the pack is hold for every stage.
    kicks : mapping of str to Known, optional
        What a film says of the stage's kicks, by key.

    Returns
    -------
    Measured
        The new text, checked as any scenario. What the file knows better, by a range of its own
        that is narrower, stays; ``same`` has the keys of that.

    Raises
    ------
    InputError
        If the file cannot be read or would not be one any more; with everything that is wrong.
    """
    text, data = current(read_text(place), shown(place), "a scenario")
    before = parse_scenario(text, shown(place), place.parent)
    told = looked, kicks or {}
    return put_looked(text, data, before, told, stage, shown(place), place.parent)


def new_looked(looked: Looked, size: Any, stage: str, units: str) -> Measured:
    """Return a first scenario, of one stage, with what a photograph says of the pack.

    Parameters
    ----------
    looked : Looked
        What the photograph says.
    size : SizeRow or str or list of str
        The can, as `packsim.scenario.new.QUESTIONS` reads it.
    stage : str
        Name of the stage.
    units : {"metric", "inch"}
        What the file speaks in.

    Returns
    -------
    Measured
        What nobody knows has a usual value there, on record as assumed.
    """
    answers: dict[str, Any] = {question.name: None for question in QUESTIONS}
    answers |= {"size": size, "units": units, "stages": [(stage, "flood", None)]}
    if looked.clear_width_mm is not None:
        answers["clear width"] = {stage: f"{looked.clear_width_mm.value:.1f} mm"}
    answers["rows"] = _ROWS[looked.layout]
    text, file = new_text(answers), "the new scenario"
    read = read_toml(text, file), parse_scenario(text, file)
    return put_looked(text, *read, (looked, {}), None, file)


def put_looked(
    text: str,
    data: dict[str, Any],
    before: Scenario,
    told: tuple[Looked, Mapping[str, Known]],
    stage: str | None,
    file: str,
    folder: Path | None = None,
) -> Measured:
    """Return `load_looked` for a text that was read; parameters as there and for `Measured`."""
    looked, kicks = told
    remark, keeps = f"from {printable(Path(looked.seen.photo).name)}", []
    values: dict[Loc, tuple[Any, str]] = {}
    number = 0 if stage is None else before.stages.index(before.stage(stage))
    shaken = ((("stages", number, "kicks", name), value) for name, value in kicks.items())
    for loc, value in (*_values(data, before, looked, stage), *shaken):
        text_of = _told(loc, value, before.units) if isinstance(value, Known) else value
        if value_at(data, loc) == text_of or _known_better(before, loc, value):
            keeps.append(key_path(loc))
        else:
            values[loc] = text_of, remark
    new = put_values(text, _held(data, values) | values)
    try:
        scenario = parse_scenario(new, file, folder)
    except InputError as problem:  # what the picture says, not the file
        each = [InputError(f"{remark}: {one.key}", one.got, one.allowed) for one in problem.each]
        raise InputErrors(each) from None
    changes = tuple(
        NewValue(key_path(loc), said(value_at(data, loc)), said(text_of), 0)
        for loc, (text_of, _) in values.items()
    )
    listed = looked.clear_width_mm is not None and not any(
        key.endswith("clear_width") for key in (*keeps, *(one.key for one in changes))
    )
    look_again = (_LISTED,) if listed else ()
    return Measured(new, scenario, changes, same=tuple(keeps), blank=(), unlikely=look_again)


def _held(data: dict[str, Any], values: dict[Loc, Any]) -> dict[Loc, tuple[Any, str]]:
    """Return what stages that are like the one in the picture had from it: that stays."""
    _, homes = written_out(data)
    return {
        at: (value_at(data, home), "")
        for at, (home, _) in homes.known.items()
        if home in values and home[0] == "stages" and at != home
    }


def _values(
    data: dict[str, Any], line: Scenario, looked: Looked, stage: str | None
) -> Iterator[tuple[Loc, Any]]:
    """Every place of the file that the photograph tells, and what."""
    names = [each.name for each in line.stages]
    number = 0 if stage is None else names.index(line.stage(stage).name)
    along = list(range(len(names))) if stage is None else [number]
    for name, value in (("rows", _ROWS[looked.layout]), ("pack_fill", looked.fill)):
        if value is not None:
            yield from ((loc, value) for loc in _once(data, along, name))
    own, _ = written_out(data)
    if looked.clear_width_mm is not None and "brackets" not in own["stages"][number]:
        yield ("stages", number, "clear_width"), looked.clear_width_mm
    if looked.gaps is not None and looked.gaps.gathered is not None:
        yield ("stages", number, "slack_gathered"), looked.gaps.gathered
    if number == 0 and looked.enters is not None:
        yield ("mat", "pack_enters"), looked.enters


def _once(data: dict[str, Any], along: list[int], name: str) -> Iterator[Loc]:
    """Where a file has a key of some stages: once for all of them, where it says things once."""
    own = [k for k in along if value_at(data, ("stages", k, name)) is not NOT_THERE]
    shared = len(along) > 1 and "every_stage" in data
    if shared:
        yield ("every_stage", name)
    yield from (("stages", k, name) for k in (own if shared else along))


def _told(loc: Loc, value: Known, units: str) -> str:
    """Write a number with its error as a file has it, within what such a number may be.

    Digits go as far as the second one of the error.
    """
    kind = declared(loc).kind
    low, high = (0.0, 1.0) if kind is None else limits(kind)
    unit, times = ("", 1.0) if kind is None or not kind.unit else (f" {kind.inner}", 1.0)
    if unit == " mm" and units == "inch":
        unit, times = " in", 1.0 / MM_PER_INCH
    ends = max(low, value.value - value.within), min(high, value.value + value.within)
    half = max((ends[1] - ends[0]) / 2.0, _LEAST) * times
    digits = max(0, 1 - math.floor(math.log10(half)))
    step = 10.0**-digits
    counts = round(half / step)
    # of a share both ends stay between 0 and 1 as they are rounded
    most = math.floor(high * times / step + 1e-9) - counts
    middle = min(max(round(sum(ends) / 2.0 * times / step), counts), most) * step
    return f"{middle:.{digits}f}{unit} ± {counts * step:.{digits}f}{unit}"


def _known_better(line: Scenario, loc: Loc, value: Any) -> bool:
    """Whether the file has a measurement of its own that is known better than the photograph's."""
    found = [one for one in line.ranges if one.key == key_path(loc) and one.kind == "measured"]
    return any((one.high - one.low) / 2.0 < value.within for one in found)
