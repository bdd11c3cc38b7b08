"""What the pages say beyond what stands in the results, and how a template becomes a page."""

from collections.abc import Sequence
from typing import Any, Final

from packsim.answers import Answer, WorstLean
from packsim.answers.quantities import quantity
from packsim.errors import printable
from packsim.report.terminal.change_sheet import bracket_rows
from packsim.report.words.chance_words import HEADS
from packsim.report.words.change_words import lanes_rows, stage_facts
from packsim.report.words.display import Display
from packsim.report.words.numbers import (
    CAUTION_LINE,
    CAUTIONS,
    kicks_text,
    stage_words,
    thousands,
)
from packsim.report.words.summary import (
    FACT_KEYS,
    PAGE_KEYS,
    SET_TO,
    STATE_MEANING,
    STATE_WORDS,
    WINDOW,
    alike,
    keys_for,
    sentence,
    set_to,
    stage_cells,
    step_words,
)
from packsim.setting import recommend
from packsim.study import Finding, SizeSummary, Study

Row = dict[str, Any]


def governing(answers: Sequence[Answer]) -> Answer:
    """Return the answer whose guide window has the least room; the first of equals."""
    return min(answers, key=lambda answer: answer.window.width_mm)


def short_rows(size: SizeSummary, display: Display) -> list[tuple[str, tuple[str, ...]]]:
    """Return stages and cells of the first table of a size; stages that read alike share a row."""
    rows = []
    for stage in size.stages:
        now = display.setting(stage.answer.pack.clear_width_mm, unit=False)
        rows.append((stage.answer.stage, (now, *stage_cells(stage, display))))
    return alike(rows)


def findings(study: Study, display: Display) -> list[Row]:
    """Return the findings as texts, most urgent first; the notes of one size share a row."""
    rows = [_finding(f, study, display) for f in study.findings if f.level != "note"]
    for can in study.scenario.sizes:
        notes = [f for f in study.findings if f.level == "note" and f.size == can.name]
        if len(notes) == 1:
            rows.append(_finding(notes[0], study, display))
        elif notes:
            parts = [_finding(note, study, display) for note in notes]
            more = [f"{part['stages']}: {part['what']}" for part in parts]
            rows.append({**parts[0], "stages": "", "what": more[0], "more": more[1:]})
    return rows


def _finding(finding: Finding, study: Study, display: Display) -> Row:
    return {
        "level": finding.level,
        "size": finding.size,
        "stages": stage_words(finding.stages, study.scenario.stages),
        "what": finding.what_in(display.length),
        "do": "; ".join(finding.do_in(display.to_set)),
        "more": [],
    }


def summary(study: Study, size: str, display: Display) -> tuple[list[str], list[Row]]:
    """Return headings and one row per stage for one size."""
    answers = study.of_size(size)
    chosen, setting = governing(answers), recommend(study.scenario, size)
    shown = [quantity(key) for key in keys_for(PAGE_KEYS, answers)]
    rows = []
    for answer in answers:
        cells = [
            ("verdict" if one.kind == "word" else "n", display.show(one.kind, value, unit=False))
            for one, value in ((one, one.of(answer)) for one in shown)
        ]
        part = setting.of_stage(answer.stage)
        cells += [("n", display.window(part.window)), ("n", set_to(part, display))]
        rows.append({"stage": answer.stage, "drawn": answer is chosen, "cells": cells})
    return [*(q.heading for q in shown), WINDOW, f"{SET_TO}, {setting.lanes} lanes"], rows


def _worst(worst: WorstLean, display: Display) -> str:
    """Return the can that leans farthest: how far, which way, where it stands."""
    if worst.lean_rad <= 0.0:
        return "none"
    gathers = f"{display.length(worst.slack_mm)}; " if worst.slack_mm > 0.0 else ""
    return (
        f"{gathers}tip index {display.index(worst.index)}, {display.angle(worst.lean_rad)} "
        f"{worst.towards}, can {display.length(worst.across_mm)} from the left guide"
    )


def facts(answer: Answer, display: Display) -> list[tuple[str, str]]:
    """Return everything worth knowing about one stage and size, as pairs of name and value."""
    found = [(quantity(key), quantity(key).of(answer)) for key in FACT_KEYS]
    return [
        *(
            (one.heading, display.show(one.kind, value))
            for one, value in found
            if value is not None
        ),
        ("slack gathered", _worst(answer.tipping.gathered, display)),
        ("one can alone", _worst(answer.tipping.own, display)),
    ]


def rendered(template: str, display: Display, **shown: Any) -> str:
    """Return a page from its template, which reads results as they are and words them by `_WORDS`.

    Control characters in texts become spaces, as HTML may hold none, and texts are escaped; only
    what is marked as markup goes in as it is. jinja2 is loaded when first asked for.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    def clean(value: Any) -> Any:
        return printable(value) if type(value) is str else value

    environment = Environment(
        loader=PackageLoader("packsim.report.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=clean,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {"thousands": thousands}
    page: str = environment.get_template(template).render(_WORDS, display=display, **shown)
    return page


def svg_markup(text: str) -> Any:
    """Mark a drawing of our own writers as markup; inside HTML it needs no namespace."""
    from markupsafe import Markup

    return Markup(text.replace(' xmlns="http://www.w3.org/2000/svg"', "", 1))  # noqa: S704 - escaped by the writers


_WORDS: Final = {
    "bracket_rows": bracket_rows,
    "caution_line": CAUTION_LINE,
    "cautions": CAUTIONS,
    "chance_heads": HEADS,
    "kicks_text": kicks_text,
    "lanes_rows": lanes_rows,
    "sentence": sentence,
    "short_rows": short_rows,
    "stage_facts": stage_facts,
    "stage_words": stage_words,
    "state_meaning": STATE_MEANING,
    "state_words": STATE_WORDS,
    "step_words": step_words,
}
"""Words and constants that templates use."""
