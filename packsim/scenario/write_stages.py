"""The lines of stages in a file that says once what they have alike.

What every stage has goes into ``[every_stage]``, what a stage has as an earlier one has it is left
to ``like``, headers that differ in their station alone are one table, and what all headers of a
kind share is a pattern.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from packsim.scenario.once import INSTEAD, NOT_SHARED, replaced
from packsim.scenario.places import Loc

Flat = dict[Loc, Any]
"""Values as TOML by key, those of an inner table behind its name; headers and settings as lines."""

_AT: Final[Loc] = ("from_stage_start",)
_SIDE: Final[Loc] = ("side",)
_KINDS: Final = {"above": '"above"', "below": '"below"', "pair": '"both"'}
"""Side of the headers of a pattern, by its name."""

_LINES: Final[tuple[Loc, ...]] = (("headers",), ("settings",))
_LONE: Final = 2
"""Most keys of an inner table that are written with its name before each."""


def stage_lines(
    stages: Sequence[Flat], headers: Sequence[Sequence[Flat]], guides: Flat
) -> list[str]:
    """Return the lines of a file from ``[every_stage]`` to its last stage.

    Parameters
    ----------
    stages : sequence of dict
        All that each stage has but for its headers, what it has from ``[guides]`` too.
    headers : sequence of sequence of dict
        All that each header of each stage has.
    guides : dict
        What ``[guides]`` says.

    Returns
    -------
    list of str
        What `packsim.scenario.once.written_out` writes out to the same again.
    """
    rows = [_grouped(each) for each in headers]
    patterns = {
        kind: _alike([one for row in rows for one in row if one[_SIDE] == side], {_AT})
        for kind, side in _KINDS.items()
    }
    known = []
    for flat, row in zip(stages, rows, strict=True):
        lines = [line for one in row for line in _header(one, patterns)]
        known.append(flat | {("headers",): tuple(lines)})
    shared = _alike(known, {loc for flat in known for loc in flat if loc[0] in NOT_SHARED})
    found = table_lines("[every_stage]", shared) if shared else []
    for kind, pattern in patterns.items():
        found += table_lines(f"[header_patterns.{kind}]", pattern) if pattern else []
    for i, flat in enumerate(known):
        found += _stage(flat, known[:i], shared, guides)
    return found


def flat_of(values: Mapping[str, str]) -> Flat:
    """Return the values of a table without inner ones by the place of their key."""
    return {(key,): value for key, value in values.items()}


def table_lines(heading: str, flat: Flat) -> list[str]:
    """Return the lines of a table, its inner ones behind it where they have more keys."""
    inner: dict[str, Flat] = {}
    lines = [heading]
    for loc, value in flat.items():
        if len(loc) == 1:
            lines.append(f"{loc[0]} = {value}")
        else:
            inner.setdefault(str(loc[0]), {})[loc[1:]] = value
    name = heading.strip("[]")
    few = {key: rows for key, rows in inner.items() if len(rows) <= _LONE}
    lines += [f"{key}.{loc[0]} = {v}" for key, rows in few.items() for loc, v in rows.items()]
    lines.append("")
    for key, rows in inner.items():
        lines += table_lines(f"[{name}.{key}]", rows) if key not in few else []
    return lines


def _alike(flats: Sequence[Flat], leave: set[Loc]) -> Flat:
    """Return what all tables have alike, where there are several, for each to leave out.

    What a key of one of them would say instead of it is not among it.
    """
    if len(flats) < 2:
        return {}
    common = {
        loc: value
        for loc, value in flats[0].items()
        if loc not in leave and all(flat.get(loc) == value for flat in flats)
    }
    differing = {loc for flat in flats for loc in flat} - common.keys()
    gone = {other for loc in differing for other in INSTEAD.get(loc, ())}
    below = {("below", *other) for loc in differing for other in INSTEAD.get(loc[1:], ())}
    return {loc: value for loc, value in common.items() if loc not in gone | below}


def _stage(flat: Flat, before: Sequence[Flat], shared: Flat, guides: Flat) -> list[str]:
    """Return the lines of a stage: like the earlier one that leaves least to say, or none."""
    plain = shared | guides
    best = {loc: value for loc, value in flat.items() if plain.get(loc) != value}
    for base in before:
        own = _rest({**flat, ("name",): None}, {**base, ("name",): None})
        again = any(guides.get(loc) == value for loc, value in (own or {}).items())
        if own is not None and not again and _size(own) + 1 < _size(best):
            best = {("name",): flat[("name",)], ("like",): base[("name",)], **own}
    behind = [line for loc in _LINES for line in best.get(loc, ())]
    plain = {loc: value for loc, value in best.items() if loc not in _LINES or value == ()}
    for loc in _LINES:
        if plain.get(loc) == ():
            del plain[loc]
            if ("like",) in best:
                plain[loc] = "[]"
    return [*table_lines("[[stages]]", plain), *behind]


def _size(flat: Flat) -> int:
    return sum(len(value) if isinstance(value, tuple) else 1 for value in flat.values())


def _rest(flat: Flat, base: Flat) -> Flat | None:
    """Return what a table must say that takes the rest from another; None where it cannot."""
    own = {loc: value for loc, value in flat.items() if base.get(loc) != value}
    gone = replaced(own, base)
    if base.keys() - gone - flat.keys():
        return None
    return own | {loc: flat[loc] for loc in gone if loc in flat}


def _grouped(rows: Sequence[Flat]) -> list[Flat]:
    """Return tables of headers: one for each row of pairs, or of headers, that are alike."""
    found: list[tuple[Flat, list[str]]] = []
    for flat in _paired(rows):
        at = flat.pop(_AT)
        if found and found[-1][0] == flat:
            found[-1][1].append(at)
        else:
            found.append((flat, [at]))
    return [
        {**flat, _AT: places[0] if len(places) == 1 else f"[{', '.join(places)}]"}
        for flat, places in found
    ]


def _paired(rows: Sequence[Flat]) -> Iterator[Flat]:
    """Give headers one by one, those above and below at one place as a pair."""
    i = 0
    while i < len(rows):
        sides = [row[_SIDE] for row in rows[i : i + 2]]
        below = None
        if sides == ['"above"', '"below"']:
            below = _rest({**rows[i + 1], _SIDE: ""}, {**rows[i], _SIDE: ""})
        if below is None or _AT in below:
            yield dict(rows[i])
            i += 1
            continue
        yield {**rows[i], _SIDE: '"both"', **{("below", *loc): v for loc, v in below.items()}}
        i += 2


def _header(flat: Flat, patterns: dict[str, Flat]) -> list[str]:
    kind = next(kind for kind, side in _KINDS.items() if side == flat[_SIDE])
    own = {loc: value for loc, value in flat.items() if loc not in patterns[kind]}
    like: Flat = {("like",): f'"{kind}"'} if patterns[kind] else {}
    return table_lines("[[stages.headers]]", like | own)
