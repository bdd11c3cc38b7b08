"""One case: a command line, the files it reads, and what is expected of it beyond the usual."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
SCENARIOS = ROOT / "scenarios"
SHIPPED = sorted([*SCENARIOS.glob("*.toml"), *SCENARIOS.glob("lessons/lines/*.toml")])
FITTED = """[kicks.flood]
energy = "0.08 mJ"
low = "0.05 mJ"
high = "0.12 mJ"
kicks_per_second = "2 1/s"
trial = "week 12, flood"

[kicks.rinse]
energy = "0.03 mJ"
trial = "week 12, rinse"
"""

_Any = TypeVar("_Any")


@dataclass(frozen=True)
class Case:
    """What is run.

    ``words`` begins with packsim or packsim-viewer; ``answers`` go through the pipe. ``keys`` must
    all be named by one refusal; where ``refused`` the exit code must be 2.
    """

    words: tuple[str, ...]
    answers: str = ""
    keys: tuple[str, ...] = ()
    refused: bool = False


def pick(rng: np.random.Generator, things: Sequence[_Any]) -> _Any:
    """One of things; a weight is given by saying a thing twice."""
    return things[int(rng.integers(len(things)))]


def chance(rng: np.random.Generator, share: float) -> bool:
    """Whether something that happens in this share of the cases happens now."""
    return bool(rng.random() < share)


def asked_of(
    rng: np.random.Generator, file: str, data: dict[str, Any], *, small: bool
) -> tuple[str, ...]:
    """A command line about a scenario file; only a ``small`` line is given to the slow ones."""
    stage, size = (_name(data, table) for table in ("stages", "sizes"))
    one = ("--stage", stage, "--size", size)
    lines: list[tuple[str, ...]] = [
        ("study", file),
        ("study", file, "--all", "--units", "inch"),
        ("study", file, "--json", "-"),
        ("study", file, "--csv", "-"),
        ("why", file, *one),
        ("why", file, *one, "--json", "-"),
        ("nozzles", "check", file),
        ("nozzles", "shift", file, "--json", "-"),
        ("nozzles", "design", file, "--save", "new.toml"),
        ("change", file, "--to", _name(data, "sizes", -1), "--json", "-"),
        ("change", file, "--to", _name(data, "sizes", -1), "--save", "new.toml"),
        ("oven-heat", file, "--mat-mass", "0.6 kg/m^2", "--mat-specific-heat", "500 J/(kg K)"),
        ("sweep", file, *one, "--over", "clear-width", "--lowest", "580 mm", "--highest", "600 mm"),
        ("draw", file, *one, "-o", "new.svg"),
        ("draw", file, *one, "--view", "elevation", "-o", "new.dxf"),
        ("renew", file, "-o", "new.toml"),
    ]
    if small:
        lines += [("doubt", file), ("doubt", file, "--json", "-"), ("report", file, "-o", "a.html")]
        lines += [("compare", file, "--json", "-")]
        lines += [("visit", file, "-o", "new.html", "--readings", "new.csv")] * 2
    return ("packsim", *pick(rng, lines))


def _name(data: dict[str, Any], table: str, at: int = 0) -> str:
    """The name of a row of a table, as far as the data is what it should be."""
    try:
        return str(data[table][at]["name"]).replace("\x00", "")
    except (LookupError, TypeError):
        return "wash"
