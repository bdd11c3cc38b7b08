"""What a file says once, written out where it holds: stages and headers like others, and rows.

A file may say once what every stage shares, what a stage has as another has it, and what many
headers have alike. Here each stage and each header gets all its values, and complaints of them
find their way back to the place where the file has the value.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import islice, zip_longest
from typing import Any, Final, NamedTuple

from pydantic import ValidationError

from packsim.errors import InputError, InputErrors
from packsim.scenario.complaints import UNKNOWN, complaints, key_path, written
from packsim.scenario.line_tables import MAX_ROWS
from packsim.scenario.places import Homes, Loc
from packsim.scenario.tables import MAX_STAGES, ScenarioFile

PARTS: Final = ("header_patterns", "every_stage")
"""Tables of a file that hold for others."""

NOT_SHARED: Final = {
    "name": "a name in each stage",
    "like": "it in a stage",
    "guides": "the table [guides], which holds for every stage",
    "brackets": "it in a stage",
    "headers": "tables [header_patterns.<name>], and headers like them",
    "settings": "it in a stage",
}
"""What [every_stage] cannot say, and what to write instead."""

INSTEAD: Final[dict[Loc, tuple[Loc, ...]]] = {
    ("brackets",): (("clear_width",), ("pack_centre_from_left",), ("bracket_spacing",)),
    ("clear_width",): (("brackets",),),
    ("bracket_spacing",): (("guides", "bracket_spacing"),),
    ("guides", "bracket_spacing"): (("bracket_spacing",),),
    ("pattern",): (
        ("fan_thickness_angle",),
        ("fan_turn",),
        ("hollow_share",),
        ("measured_angles",),
        ("measured_shares",),
    ),
    ("kicks", "energy"): (("kicks", "trial"),),
    ("kicks", "kicks_per_second"): (("kicks", "trial"),),
}
"""What a table does not take over from another because its own key says something else."""

_NAMED: Final = 50
"""Most names told of those that something can be like."""


class _Given(NamedTuple):
    """A value, where the file has it, and which stage took it over, from which."""

    value: Any
    home: Loc
    taker: tuple[object, str] | None = None


_Flat = dict[Loc, _Given]
"""A table by key, the keys of its inner tables behind the table's name."""


def written_out(data: dict[str, Any]) -> tuple[dict[str, Any], Homes]:
    """Return a scenario file's data with every value in its place, and where the file has them.

    What is malformed or too long stays as it is for the checks that follow; what nothing can be
    like, or is said in two ways, is among the complaints. Raises `InputError` for more headers or
    patterns of them than any line has.
    """
    data, homes = dict(data), Homes()
    parts = {name: data.pop(name) for name in PARTS if isinstance(data.get(name), dict)}
    writer, patterns = _Writer(homes), parts.get("header_patterns", {})
    if len(patterns) > MAX_ROWS:
        got = f"{len(patterns)} tables"
        raise InputError("header_patterns", got, f"at most {MAX_ROWS} of them")
    for name, table in patterns.items():
        writer.pattern(name, table)
    writer.share(parts.get("every_stage", {}))
    rows = data.get("stages")
    if isinstance(rows, list) and len(rows) <= MAX_STAGES:
        data["stages"] = [
            writer.stage(("stages", i), row) if isinstance(row, dict) else row
            for i, row in enumerate(rows)
        ]
    writer.check_parts()
    return data, homes


def _flat(table: dict[str, Any], home: Loc) -> _Flat:
    found: _Flat = {}
    for key, value in table.items():
        if key in ("kicks", "guides", "below") and isinstance(value, dict):
            found |= {(key, k): _Given(v, (*home, key, k)) for k, v in value.items()}
        else:
            found[(key,)] = _Given(value, (*home, key))
    return found


def replaced(own: Mapping[Loc, Any], base: Mapping[Loc, Any]) -> set[Loc]:
    """Return what a table with values of its own does not take over from another."""
    new = [loc for loc, value in own.items() if loc not in base or base[loc] != value]
    return {other for loc in new for other in INSTEAD.get(loc, ())} - own.keys()


def _over(own: _Flat, base: _Flat, taker: tuple[object, str] | None = None) -> _Flat:
    """Return a table's own values over those of another, which ``taker`` takes over."""
    values = [{loc: one.value for loc, one in flat.items()} for flat in (own, base)]
    gone = replaced(*values)
    taken = {loc: one._replace(taker=taker) for loc, one in base.items() if loc not in gone}
    return {**taken, **own}


def _stations(flat: _Flat) -> list[_Flat]:
    """Return one header for each of its stations."""
    at = flat.get(("from_stage_start",))
    if at is None or not isinstance(at.value, list) or not at.value:
        return [flat]
    each = [at._replace(value=value, home=(*at.home, k)) for k, value in enumerate(at.value)]
    return [{**flat, ("from_stage_start",): one} for one in each]


@dataclass(slots=True)
class _Writer:
    """Writes out one file: its patterns and stages so far by name, what every stage shares."""

    homes: Homes
    patterns: dict[str, _Flat] = field(default_factory=dict)
    stages: dict[str, _Flat] = field(default_factory=dict)
    every: _Flat = field(default_factory=dict)
    headers: int = 0
    used: set[Loc] = field(default_factory=set)

    def pattern(self, name: str, table: Any) -> None:
        """Take in one header pattern, with what it takes over from an earlier one."""
        here = ("header_patterns", name)
        if not isinstance(table, dict):
            self._refuse(here, written(table), "a table")
            return
        flat = _flat(table, here)
        _, base = self._like(flat, self.patterns, "a pattern before this one")
        below = self._halves(flat)[1]
        self._check_pair(below, flat.get(("side",)))
        self.patterns[name] = _over(flat, base)

    def share(self, table: dict[str, Any]) -> None:
        """Take in what every stage shares."""
        for key in table.keys() & NOT_SHARED.keys():
            self._refuse(("every_stage", key), "it here", NOT_SHARED[key])
        kept = {key: value for key, value in table.items() if key not in NOT_SHARED}
        self.every = _flat(kept, ("every_stage",))

    def stage(self, here: Loc, row: dict[str, Any]) -> dict[str, Any]:
        """Return one stage with all that it has."""
        flat, name = _flat(row, here), row.get("name")
        like, base = self._like(flat, self.stages, "a stage before this one")
        taken = {loc: one for loc, one in base.items() if loc != ("name",)}
        flat = _over(_over(flat, taken, (name, like)), self.every, (name, ""))
        if isinstance(name, str):
            self.stages.setdefault(name, dict(flat))
        rows = flat.get(("headers",))
        if rows is None or not isinstance(rows.value, list):
            return self._put(here, flat)
        del flat[("headers",)]
        return self._put(here, flat) | {"headers": self._headers((*here, "headers"), rows)}

    def _headers(self, here: Loc, asked: _Given) -> list[Any]:
        """Return the headers of a stage one by one, each with all that it has."""
        found: list[Any] = []
        for j, row in enumerate(asked.value):
            home = (*asked.home, j)
            made = self._row(_flat(row, home)) if isinstance(row, dict) else [row]
            for one in made:
                at = (*here, len(found))
                if at != home:
                    self.homes.known[at] = home, asked.taker
                if one is not row:
                    taken = {k: each._replace(taker=asked.taker) for k, each in one.items()}
                    one = self._put(at, taken)
                found.append(one)
            if self.headers + len(found) > MAX_ROWS:
                raise InputError("stages", "more headers", f"at most {MAX_ROWS} on the line")
        self.headers += len(found)
        return found

    def _row(self, own: _Flat) -> list[_Flat]:
        """Return the headers that one table stands for: a pair and a row are several."""
        _, base = self._like(own, self.patterns, "a table [header_patterns.<name>]")
        (rest, below), (base_rest, base_below) = self._halves(own), self._halves(base)
        side = rest.get(("side",)) or base_rest.get(("side",))
        self._check_pair(below, side)
        if side is None or side.value != "both":
            lower = side is not None and side.value == "below"
            return _stations(_over(rest, _over(base_below, base_rest) if lower else base_rest))
        both = _over(rest, base_rest)
        rows = [
            _stations({**half, ("side",): side._replace(value=word)})
            for word, half in (("above", both), ("below", _over(_over(below, base_below), both)))
        ]
        return [one for pair in zip_longest(*rows) for one in pair if one is not None]

    def _halves(self, flat: _Flat) -> tuple[_Flat, _Flat]:
        """Return a header's own values, and what differs in the one below."""
        below = {loc[1:]: one for loc, one in flat.items() if loc[0] == "below" and len(loc) > 1}
        rest = {loc: one for loc, one in flat.items() if loc[0] != "below" or len(loc) == 1}
        for loc in [loc for loc in below if loc[0] in ("side", "like", "below")]:
            self._refuse(below.pop(loc).home, UNKNOWN, "what differs from the header above")
        return rest, below

    def _check_pair(self, below: _Flat, side: _Given | None) -> None:
        if below and side is not None and side.value != "both":
            home = next(iter(below.values())).home[:-1]
            self._refuse(home, "a table", 'side = "both", or no table below')

    def _like(self, flat: _Flat, known: dict[str, _Flat], what: str) -> tuple[str, _Flat]:
        """Take ``like`` out of a table and return what it names, with its values."""
        asked = flat.get(("like",))
        if asked is None or not isinstance(asked.value, str):
            return "", {}
        del flat[("like",)]
        if asked.value not in known:
            names = ", ".join([*islice(known, _NAMED), "..."] if len(known) > _NAMED else known)
            allowed = f"the name of {what}" + (f": {names}" if names else "; there is none")
            self._refuse(asked.home, written(asked.value), allowed)
            self.homes.lost.append(key_path(asked.home[:-1]))
        return asked.value, known.get(asked.value, {})

    def _put(self, here: Loc, flat: _Flat) -> dict[str, Any]:
        """Return a table of flat values that stands at ``here``, and note where they come from."""
        table: dict[str, Any] = {}
        self.used |= {one.home for one in flat.values()}
        for loc, (value, home, taker) in flat.items():
            inner = table if len(loc) == 1 else table.setdefault(str(loc[0]), {})
            if isinstance(inner, dict):  # what is no table is complained of as it is
                inner[str(loc[-1])] = value
                if (*here, *loc) != home:
                    self.homes.known[(*here, *loc)] = home, taker
        return table

    def _refuse(self, home: Loc, got: str, allowed: str) -> None:
        self.homes.complaints.append(InputError(key_path(home), got, allowed))

    def check_parts(self) -> None:
        """Complain of what is wrong in what no stage has, but for what is left out there."""
        here: Loc = ("parts",)
        parts = [
            {k: v for k, v in flat.items() if v.home not in self.used}
            for flat in (self.every, *self.patterns.values())
        ]
        if not any(parts):
            return
        ghost = self._put(here, parts[0])
        rows = [row for part in parts[1:] for half in self._halves(part) for row in _stations(half)]
        ghost["headers"] = [self._put((*here, "headers", n), row) for n, row in enumerate(rows)]
        try:
            ScenarioFile.model_validate({"stages": [ghost]})
        except ValidationError as problem:
            found = [
                InputError(one.key.replace("stages[0]", "parts", 1), one.got, one.allowed)
                for one in complaints(problem, ScenarioFile)
                if one.key and one.got != "nothing"
            ]
            if found:
                self.homes.complaints = list(self.homes.all_of(InputErrors(found)).each)
