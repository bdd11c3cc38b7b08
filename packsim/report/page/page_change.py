"""The size-change sheet on paper: what to set, with room for what was found and what was left."""

import re
from collections.abc import Sequence
from typing import Any

from packsim.errors import printable
from packsim.findings import in_brief
from packsim.report.page.page_parts import rendered
from packsim.report.terminal.change_sheet import heights_alike
from packsim.report.words.chance_words import Told
from packsim.report.words.change_words import KEEP_WORDS, inch_step
from packsim.report.words.display import Display
from packsim.report.words.numbers import assumed_rows
from packsim.report.words.summary import step_words
from packsim.size_change import SizeChange


def change_page(change: SizeChange, display: Display, told: Sequence[Told] = ()) -> str:
    """Return a size change as one self-contained HTML sheet to print and fill in.

    Returns
    -------
    str
        What to know first, brackets, wires and hold-downs with boxes for as found, as left and
        done, signatures; then the same in full and what all of it assumes. Line, change, date and
        page stand on every page. Nothing is fetched from anywhere.
    """
    names = [part.found.name for part in change.stages]
    setting = change.setting
    running = f"{setting.scenario.name}: {setting.from_size} \u2192 {setting.size}"
    return rendered(
        "change.html",
        display,
        name=setting.scenario.name,
        part=change_parts(change, display),
        chances=told,
        assumed=assumed_rows(change.assumed, names, display.units),
        running=_css_text(running),
    )


def _css_text(text: str) -> Any:
    """Return a text as the inside of a CSS string; nothing in it can end string or style."""
    from markupsafe import Markup

    safe = re.sub(r"[^\w .,:;()+-]", lambda sign: f"\\{ord(sign[0]):x} ", printable(text))
    return Markup(safe)  # noqa: S704 - every sign that means something to CSS or HTML is a number


def change_parts(change: SizeChange, display: Display) -> dict[str, Any]:
    """Return one size change for the template of the sheet: itself, and what it is written with."""
    step = inch_step(change)
    brief = in_brief(one for one in change.alerts if one.level != "note")
    return {
        "change": change,
        "keep": KEEP_WORDS[change.setting.keep],
        "step": step,
        "other": "in" if display.metric else "mm",
        "brief": [step_words(one, len(change.stages), display) for one in brief],
        "heights": heights_alike(change, display, step),
    }
