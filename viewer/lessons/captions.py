"""Packsim's numbers in a lesson's captions, so that no lesson states a number of its own."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from packsim.answers import Answer
from packsim.errors import InputError
from packsim.report.words.display import Display
from viewer.screen.panel_writer import NO_BREAK
from viewer.session.source import Feed

__all__ = ["NAMES", "filled", "numbers_of", "window_text"]

_SHOW = Display("metric")

NAMES = (
    "size",
    "width",
    "lanes",
    "slack",
    "safe",
    "edge_limit",
    "centre_limit",
    "balance",
    "edge_lean",
    "centre_lean",
    "index",
    "verdict",
    "window",
    "miss",
    "best_shift",
    "best_miss",
    "tipped",
)
"""What a caption may ask for in braces; with ``_2`` after it, of the second pack."""


def filled(caption: str, feeds: Sequence[Feed], stage: int) -> str:
    """Return a caption with its names in braces replaced.

    Parameters
    ----------
    caption : str
        Text with names such as ``{slack}``.
    feeds : sequence of Feed
        One or two packs.
    stage : int
        The scene's stage.

    Returns
    -------
    str
        Text with numbers and units.

    Raises
    ------
    InputError
        If a name is unknown.
    """
    values: dict[str, str] = {}
    for number, feed in enumerate(feeds, start=1):
        for name, text in numbers_of(feed, stage).items():
            values[name if number == 1 else f"{name}_{number}"] = text

    def value(match: re.Match[str]) -> str:
        if match[1] not in values:
            raise InputError("caption", "{" + match[1] + "}", "one of " + ", ".join(values))
        return values[match[1]].replace(" ", NO_BREAK)

    return re.sub(r"\{(\w+)\}", value, caption)


def numbers_of(feed: Feed, stage: int) -> dict[str, str]:
    """Return every number a caption may show about one stage of a pack."""
    found = feed.answers[stage]
    values = dict.fromkeys(NAMES, "–")
    values["size"] = feed.setting.size
    values["width"] = _SHOW.length(feed.setting.scenario.stages[stage].guides.narrowest_mm)
    values["tipped"] = f"{int(np.sum(feed.tips[stage])):,}"
    if isinstance(found, Answer):
        values |= _answered(found)
    return values


def _answered(found: Answer) -> dict[str, str]:
    tipping = found.tipping
    values = {
        "lanes": str(found.pack.lanes),
        "slack": _SHOW.length(found.slack_mm),
        "safe": _SHOW.length(tipping.safe.slack_mm),
        "edge_limit": _SHOW.length(tipping.safe.edge_mm),
        "centre_limit": _SHOW.length(tipping.safe.centre_mm),
        "balance": _SHOW.angle(tipping.balance_angle_rad),
        "edge_lean": _SHOW.angle(tipping.nominal.edge_lean_rad),
        "centre_lean": _SHOW.angle(tipping.nominal.centre_lean_rad),
        "index": _SHOW.index(tipping.nominal.worst),
        "verdict": tipping.verdict,
        "window": window_text(found),
    }
    if found.alignment is not None:
        values["miss"] = _SHOW.length(found.alignment.now.worst_mm)
        values["best_shift"] = _SHOW.length(found.alignment.best.shift_for_worst_mm, signed=True)
        values["best_miss"] = _SHOW.length(found.alignment.best.worst_mm)
    return values


def window_text(found: Answer) -> str:
    """Return the guide window as a text."""
    window = found.window
    if window.empty:
        return "empty"
    return f"{_SHOW.length(window.low_mm, unit=False)}–{_SHOW.length(window.high_mm)}"
