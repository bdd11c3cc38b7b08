"""The size-change sheet on paper: what to set, with room for what was found and what was left."""

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from packsim.findings import in_brief
from packsim.report.page.page_parts import chance_parts, cleaned, environment
from packsim.report.terminal.change_sheet import CrewRow, bracket_rows, heights_alike
from packsim.report.words.chance_words import Told
from packsim.report.words.change_words import (
    KEEP_WORDS,
    inch_step,
    lanes_rows,
    stage_facts,
)
from packsim.report.words.display import Display
from packsim.report.words.legend import CAUTION_LINE, CAUTIONS, assumed_rows
from packsim.report.words.numbers import printable, stage_words, thousands
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
    texts = {
        "name": change.setting.scenario.name,
        "change": change_parts(change, display),
        "chances": chance_parts(told),
        "assumed": assumed_rows(
            change.assumed, [part.found.name for part in change.stages], display.units
        ),
        "cautions": CAUTIONS,
        "caution_line": CAUTION_LINE,
    }
    running = f"{texts['name']}: {change.setting.from_size} \u2192 {change.setting.size}"
    template = environment().get_template("change.html")
    page: str = template.render(**cleaned(texts), running=_css_text(running))
    return page


def _css_text(text: str) -> Any:
    """Return a text as the inside of a CSS string; nothing in it can end string or style."""
    from markupsafe import Markup

    safe = re.sub(r"[^\w .,:;()+-]", lambda sign: f"\\{ord(sign[0]):x} ", printable(text))
    return Markup(safe)  # noqa: S704 - every sign that means something to CSS or HTML is a number


def change_parts(change: SizeChange, display: Display) -> dict[str, Any]:
    """Return one size change as texts for the template of the sheet."""
    step = inch_step(change)
    setting, names = change.setting, [stage.found.name for stage in change.stages]
    brief = in_brief(one for one in change.alerts if one.level != "note")
    steps = [step_words(one, len(names), display) for one in brief]
    return {
        "from_size": setting.from_size,
        "to_size": setting.size,
        "keep": KEEP_WORDS[setting.keep],
        "speed": [display.speed(speed) for speed in setting.speed_mm_per_s],
        "rate": " \u2192 ".join(thousands(rate) for rate in setting.cans_per_min),
        "unit": display.length_unit,
        "unit_word": "mm" if display.metric else "inches",
        "other": "in" if display.metric else "mm",
        "step": f"{step} in",
        "brief": [
            {"level": lv, "where": at or "whole line", "what": what} for lv, at, what in steps
        ],
        "lanes": lanes_rows(change, display),
        "alerts": [
            {
                "level": alert.level,
                "stages": ", ".join(alert.stages) or "whole line",
                "what": alert.what_in(display.length),
                "do": "; ".join(alert.do_in(display.to_set)),
            }
            for alert in change.alerts
        ],
        "stages": [
            {
                "name": stage.found.name,
                "width": display.setting(stage.after.pack.clear_width_mm, unit=False),
                "facts": stage_facts(stage, display),
                "rows": [_row(row, display, step) for row in bracket_rows(stage, display)],
            }
            for stage in change.stages
        ],
        "heights": [
            {
                "stages": stage_words(stages, names),
                "rows": [_row(row, display, step) for row in rows],
                "lines": len(rows) + sum(bool(row.note) for row in rows),
            }
            for stages, rows in heights_alike(change, display, step)
        ],
    }


def _row(row: CrewRow, display: Display, step: Fraction) -> dict[str, Any]:
    return {"what": row.what, "note": row.note, "stays": row.stays, **row.cells(display, step)}
