"""What a rule has to say about one answer, before answers are grouped."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from packsim.answers import Answer
from packsim.line import Scenario

__all__ = ["Remark", "Rule"]


@dataclass(frozen=True, slots=True)
class Remark:
    """What a rule has to say about one answer; texts hold ``{name}`` for each length."""

    level: str
    what: str
    do: str = ""
    lengths_mm: Mapping[str, float] = field(default_factory=dict)


Rule = Callable[[Scenario, Answer], Remark | None]
