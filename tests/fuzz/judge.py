"""What must hold however a command was asked: here it is said what did not."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tests.fuzz.case import Case

_REFUSED = re.compile(r"packsim[\w -]*: .+(: got .*; needs .+|: no such option; .*|--help.*)$")
_USAGE = re.compile(r"packsim[\w -]*: (No such command|Got unexpected extra|Missing|Option) ?.*")
MOST = 1010
LONGEST = 1500
"""Letters of a line of complaint: what is longer says nothing."""


def faults(
    case: Case,
    code: int,
    out: str,
    err: str,
    before: Mapping[str, bytes],
    after: Mapping[str, bytes],
) -> list[str]:
    """Return what is wrong with how a case ended; the files are those of its folder by name."""
    found = []
    if code not in (0, 2):
        found.append(f"exit code {code}")
    if "Traceback" in err:
        found.append("traceback")
    if case.refused and code != 2:
        found.append("not refused")
    lines = err.split("\n")
    found += [f"a line of {len(line)} letters" for line in lines if len(line) > LONGEST][:1]
    found += ["more lines than anybody reads"] if len(lines) > MOST else []
    found += _unprintable("standard error", err)
    if not {"-", "--json", "--csv", "--html"} & set(case.words):
        found += _unprintable("standard output", out)
    if code == 2:
        found += [] if "Usage:" in out + err else _refusal(case, [line for line in lines if line])
    elif "--json" in case.words and "-" in case.words:
        found += _json(out)
    new = sorted(after.keys() - before.keys())
    found += [f"{name} is changed" for name in before if after.get(name) != before[name]]
    found += [f"{name} is left" for name in new if code != 0 or not _asked_for(name, case)]
    found += [f"{name} is empty" for name in new if not after[name]]
    return found


def _refusal(case: Case, lines: list[str]) -> list[str]:
    """Return what a refusal lacks: got and needs, and every key that was put wrong."""
    told = [line for line in lines if _REFUSED.match(line) or _USAGE.match(line)]
    found = [] if told else ["a refusal without got and needs"]
    found += [
        f"{key} is not named"
        for key in case.keys
        if not any(f": {key}: got" in line for line in told)
    ]
    return found


def _unprintable(where: str, text: str) -> list[str]:
    odd = {c for c in text if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") and c not in "\n"}
    return [f"{where} has {sorted(odd)!r}"] if odd else []


def _json(out: str) -> list[str]:
    def refuse(name: str) -> Any:
        raise ValueError(name)

    try:
        json.loads(out, parse_constant=refuse)
    except ValueError as problem:
        return [f"no JSON: {problem}"]
    return []


def _asked_for(name: str, case: Case) -> bool:
    return any(Path(word).name == name or word.endswith(f"={name}") for word in case.words)
