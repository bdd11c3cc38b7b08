"""What every test may ask for: the published check values, and a screenless pygame."""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")

ROOT = Path(__file__).resolve().parents[1]


@dataclass(frozen=True)
class Published:
    """One value from outside the project, with its source."""

    id: str
    what: str
    value: float
    tolerance: float
    source: str
    where: str
    inputs: dict[str, Any]

    def agrees(self, got: float) -> bool:
        return abs(got - self.value) <= self.tolerance


@pytest.fixture(scope="session")
def published() -> dict[str, Published]:
    """The values of shared/published.toml by id; ``where`` says read or from memory."""
    with (ROOT / "shared" / "published.toml").open("rb") as file:
        rows = tomllib.load(file)["check"]
    fields = Published.__dataclass_fields__
    return {row["id"]: Published(**{k: row[k] for k in fields}) for row in rows}


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return ROOT
