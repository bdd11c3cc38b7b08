"""What differs between machines, as data: read from the lines, field by field."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, Final

from packsim.line import Guides, Scenario, Stage
from packsim.line.spray import SIDES

_ASIDE: Final = {
    "Scenario": "name about stages sizes set_for seed assumed rule_step_mm units unlikely history "
    "ranges",
    "Stage": "name headers settings",
    "Guides": "brackets",
    "Can": "name assumed",
    "Kicks": "trial",
}
"""Fields that are no part of a machine, or are told in another way, by class."""


@dataclass(frozen=True, slots=True)
class Differing:
    """One thing that is not the same in every line.

    Parameters
    ----------
    field : str
        What it is, as a path of fields: ``mat.speed_mm_per_s``, ``guides.wires.heights_mm``,
        ``headers.above.pressure_MPa``. A list of headers that is longer has the field ``count``.
    stages, sizes : tuple of str
        Stages, or sizes, in which it differs so; both empty for the line as a whole.
    values : tuple of object
        What each line has, in the order of the lines and the units inside the package.
    """

    field: str
    stages: tuple[str, ...]
    sizes: tuple[str, ...]
    values: tuple[Any, ...]


def differing(
    lines: Sequence[Scenario], stages: Sequence[str], sizes: Sequence[str]
) -> tuple[Differing, ...]:
    """Return what differs between some lines, in the stages and sizes they share.

    Parameters
    ----------
    lines : sequence of Scenario
        At least two.
    stages, sizes : sequence of str
        Names to look at.

    Returns
    -------
    tuple of Differing
        The line first, then stages, then sizes; what differs alike in several stages, or headers
        of one side, stands once.
    """
    groups: dict[tuple[str, str], tuple[list[str], tuple[Any, ...]]] = {}

    def note(where: str, name: str, things: Sequence[Any]) -> None:
        for field, values in _fields(things):
            key = f"{where}.{field}", repr(values)
            names, _ = groups.setdefault(key, ([], values))
            names += [name] if name not in names else []

    note("", "", lines)
    for stage in stages:
        note("stages", stage, [line.stage(stage) for line in lines])
    for size in sizes:
        note("sizes", size, [line.size(size) for line in lines])
    return tuple(
        Differing(
            field=path.partition(".")[2],
            stages=tuple(names) if path.startswith("stages.") else (),
            sizes=tuple(names) if path.startswith("sizes.") else (),
            values=values,
        )
        for (path, _), (names, values) in groups.items()
    )


def _fields(things: Sequence[Any], path: str = "") -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Yield the fields in which some nouns of one class differ, and what each has."""
    aside = _ASIDE.get(type(things[0]).__name__, "").split()
    for name in (field.name for field in fields(things[0])):
        values = tuple(getattr(thing, name) for thing in things)
        if name in aside or all(value == values[0] for value in values):
            continue
        if all(map(is_dataclass, values)):
            yield from _fields(values, f"{path}{name}.")
        else:
            yield f"{path}{name}", values
    if isinstance(things[0], Stage):
        yield from _headers(things)
    if isinstance(things[0], Guides):
        yield from _brackets(things, path)


def _brackets(guides: Sequence[Guides], path: str) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Yield what differs of brackets: width and middle where they are narrowest, and their places.

    Faces are told one by one where all of that is the same.
    """
    if all(one.brackets == guides[0].brackets for one in guides):
        return
    told = False
    for name, of in (
        ("clear_width_mm", lambda one: round(one.narrowest_mm, 6)),
        ("centre_mm", lambda one: round(one.centre_mm, 6)),
        ("stations_mm", lambda one: tuple(b.station_mm for b in one.brackets)),
    ):
        values = tuple(map(of, guides))
        if any(value != values[0] for value in values):
            told = True
            yield f"{path}{name}", values
    if not told:
        yield (
            f"{path}faces_mm",
            tuple(tuple((b.left_mm, b.right_mm) for b in one.brackets) for one in guides),
        )


def _headers(stages: Sequence[Stage]) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Yield what differs of the headers of each side, those of one line in their order."""
    for side in SIDES:
        rows = [[h for h in stage.headers if h.side == side] for stage in stages]
        path = f"headers.{side}."
        if len({len(row) for row in rows}) > 1:
            yield f"{path}count", tuple(map(len, rows))
            continue
        found: dict[str, dict[int, tuple[Any, ...]]] = {}
        for k, pair in enumerate(zip(*rows, strict=True)):
            for field, values in _fields(pair, path):
                found.setdefault(field, {})[k] = values
        for field, each in found.items():
            by_line = zip(*each.values(), strict=True)
            yield field, tuple(one[0] if len(set(one)) == 1 else one for one in by_line)
