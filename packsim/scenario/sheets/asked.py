"""What a visit is to measure, under the keys of the file: one entry for each value written down."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from packsim.doubt.action import Action
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.line.input_range import InputRange
from packsim.scenario.once import written_out
from packsim.scenario.places import as_written, home_of
from packsim.scenario.sheets.key_places import declared, find_key
from packsim.scenario.text_files import current, read_text, shown
from packsim.scenario.values.quantities import convert

_OF_OTHERS: Final = {"diameter_tol"}
"""Keys that follow from the readings of another one, here from how much the diameters differ."""

_HEADER: Final = re.compile(r"stages\[(\d+)\]\.headers\[(\d+)\]")
_TABLE: Final = re.compile(rf"(?:header_patterns\.(?:[\w-]+|\"[^\"]*\")|{_HEADER.pattern})\.")


@dataclass(frozen=True, slots=True)
class Asked:
    """One value to be measured.

    Parameters
    ----------
    action : Action
        What is done to measure it.
    key : str
        Its key path in the file, under which a reading of it is loaded.
    place : str
        Where: a stage, a header of one, a size, or the line.
    about : str
        What it is.
    unit : str
        Unit it is shown in, metric; ``%`` for a share, empty for a word or a ratio.
    known : InputRange
        How well it is known now.
    in_file : str
        How the file has it; empty where it has none.
    """

    action: Action
    key: str
    place: str
    about: str
    unit: str
    known: InputRange
    in_file: str

    @property
    def within(self) -> float:
        """How far off a reading may be, in ``unit``; 0 for what is seen or counted."""
        settled = self.action.settled(self.known.key)
        off = 0.0 if settled is None else settled.within_of(self.known)
        return self._in_unit(off) - self._in_unit(0.0)

    @property
    def now(self) -> float | str:
        """What it is taken as now, in ``unit``, or the word."""
        if self.known.choices:
            return self.known.choices[int(self.known.value)]
        return self._in_unit(self.known.value)

    def _in_unit(self, value: float) -> float:
        unit, inner = ("%", "") if self.unit == "%" else (self.known.unit, self.known.inner)
        return float(convert(Fraction(repr(value)), inner, unit))


def what_to_ask(place: Path, scenario: Scenario, actions: Sequence[Action]) -> tuple[Asked, ...]:
    """Return every value that actions measure and that nobody has measured yet.

    Parameters
    ----------
    place : Path
        The scenario file.
    scenario : Scenario
        What it says.
    actions : sequence of Action
        In the order in which they are to be done.

    Returns
    -------
    tuple of Asked
        Action by action, in the order of the file; each key once.
    """
    _, data = current(read_text(place), shown(place), "a scenario")
    homes = written_out(data)[1].by_path()
    found: dict[str, tuple[Action, list[InputRange]]] = {}
    for action in actions:
        for one in _settled(action, scenario.ranges):
            found.setdefault(_key(one.key, homes), (action, []))[1].append(one)
    return tuple(
        asked
        for key, (action, same) in found.items()
        if (asked := _asked(key, data, (action, same), scenario)) is not None
    )


def _asked(
    key: str, data: dict[str, Any], told: tuple[Action, list[InputRange]], scenario: Scenario
) -> Asked | None:
    """Return what is asked under a key; None where no table of the file can hold it."""
    action, same = told
    try:
        one = declared(find_key(key, data))
    except InputError:
        return None
    share = one.kind is not None and not one.kind.unit and one.kind.high == 1.0
    return Asked(
        action,
        key,
        _where(key, [each.key for each in same], scenario),
        about=one.about.rstrip("."),
        unit="%" if share else same[0].unit,
        known=same[0],
        in_file=str(as_written(data, key, "") or ""),
    )


def _settled(action: Action, ranges: Iterable[InputRange]) -> Iterator[InputRange]:
    for one in ranges:
        name = one.key.rpartition(".")[2]
        if action.settled(one.key) and one.kind != "measured" and name not in _OF_OTHERS:
            yield one


def _key(path: str, homes: Mapping[str, Any]) -> str:
    """Return the key under which a file can hold the value of one header or stage alone.

    A stage that takes a value over from elsewhere can have one of its own. Headers of one table
    share theirs.
    """
    found = _HEADER.match(path)
    if found is None:
        return path
    table, home = home_of(found[0], homes)[0], home_of(path, homes)[0]
    own = _TABLE.match(home)
    return f"{table}.{home[own.end() :]}" if own else home


def _where(key: str, same: Sequence[str], scenario: Scenario) -> str:
    """Return the place of an input in words; the name of its stage or size comes first.

    ``same`` are the key paths of what has it: headers of one table, of several stages too.
    """
    row = re.match(r"(stages|sizes)\[(\d+)\]", key)
    if row is None:
        return "every stage" if key.startswith("guides.") else "line"
    name = (scenario.stages if row[1] == "stages" else scenario.sizes)[int(row[2])].name
    headers = [found for each in same if (found := _HEADER.match(each)) is not None]
    if headers:
        names = dict.fromkeys(scenario.stages[int(found[1])].name for found in headers)
        sides = {scenario.stages[int(f[1])].headers[int(f[2])].side for f in headers}
        others = "".join(f", {other}" for other in names if other != name)
        return f"{name}, headers {' and '.join(sorted(sides))}{others and f' (also{others[1:]})'}"
    bracket = re.search(r"brackets\[(\d+)\]", key)
    return name if bracket is None else f"{name}, bracket {int(bracket[1]) + 1}"
