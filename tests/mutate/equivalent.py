"""Mutants that nobody could notice, each with the reason, from equivalent.toml beside this file."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.mutate.mutants import ROOT, Mutant, mutant_at, places_in

FILE = Path(__file__).with_name("equivalent.toml")

Key = tuple[str, str, str]
"""File, line before and line after."""


def reasons() -> dict[Key, str]:
    """Why a mutant makes no difference, for each that makes none."""
    groups = tomllib.loads(FILE.read_text(encoding="utf-8"))["because"]
    found: dict[Key, str] = {}
    for group in groups:
        for was, now in group["lines"]:
            found[group["file"], was, now] = group["reason"]
    return found


def key_of(mutant: Mutant) -> Key:
    return mutant.file, mutant.was, mutant.now


def matching(keys: Iterable[Key]) -> Iterator[Mutant]:
    """Every mutant that has one of the keys."""
    wanted = set(keys)
    for file in sorted({file for file, _, _ in wanted}):
        source = (ROOT / file).read_text(encoding="utf-8")
        lines = source.split("\n")
        known = {was for name, was, _ in wanted if name == file}
        for place in places_in(source):
            if lines[place.at[0] - 1].strip() in known:
                mutant = mutant_at(file, source, place)
                if key_of(mutant) in wanted:
                    yield mutant


def outlived(keys: Iterable[Key], files: Iterable[str]) -> list[Key]:
    """Entries of some files that match no mutant any more: their line reads otherwise by now."""
    own = {key for key in keys if key[0] in files}
    return sorted(own - {key_of(mutant) for mutant in matching(own)})


def as_table() -> str:
    """The reasons as a table of markdown, those of a file together."""
    rows: dict[tuple[str, str], int] = {}
    for (file, _, _), reason in reasons().items():
        rows[file, reason] = rows.get((file, reason), 0) + 1
    lines = ["| file | mutants | why nobody can notice |", "|---|---|---|"]
    lines += [
        f"| `{file}` | {count} | {reason} |" for (file, reason), count in sorted(rows.items())
    ]
    return "\n".join(lines)
