"""What a rule has to say about one setup, before setups are grouped."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from packsim.line import Scenario
from packsim.setup import Setup

__all__ = ["Remark", "Rule"]


@dataclass(frozen=True, slots=True)
class Remark:
    """What a rule has to say about one setup; texts hold ``{name}`` for each length."""

    level: str
    what: str
    do: str = ""
    lengths_mm: Mapping[str, float] = field(default_factory=dict)


Rule = Callable[[Scenario, Setup], Remark | None]
