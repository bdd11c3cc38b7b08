"""What the study page says, as plain texts by section; the template only lays them out.

Everything put into a template is escaped.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from packsim.answers import Answer, WorstLean
from packsim.answers.quantities import quantity
from packsim.report.words.chance_words import HEADS, Told
from packsim.report.words.display import Display
from packsim.report.words.legend import (
    FACT_KEYS,
    PAGE_KEYS,
    SET_TO,
    WINDOW,
    keys_for,
    kicks_text,
    set_to,
)
from packsim.report.words.numbers import printable
from packsim.report.words.summary import STATE_WORDS, alike, sentence, stage_cells, step_words
from packsim.setting import recommend
from packsim.study import Finding, Study, summarize

Row = dict[str, Any]


def governing(answers: Sequence[Answer]) -> Answer:
    """Return the answer whose guide window has the least room; the first of equals."""
    return min(answers, key=lambda answer: answer.window.width_mm)


def job(study: Study, display: Display) -> list[tuple[str, str]]:
    """Return what was studied, as pairs of name and value."""
    case = study.scenario
    sizes = "; ".join(
        f"{can.name}: {display.length(can.diameter_mm)} × {display.length(can.height_mm)}"
        for can in case.sizes
    )
    return [
        ("Guides set for", case.set_for),
        ("Can sizes (diameter × trimmed height)", sizes),
        ("Stages in order", ", ".join(stage.name for stage in case.stages)),
        (
            "Mat",
            f"{display.length(case.mat.width_mm)} wide at {display.speed(case.mat.speed_mm_per_s)}",
        ),
        ("Safety factor on the safe slack", f"{case.factor:g}"),
        ("Chances of tipping rest on", kicks_text(case)),
        ("Made by", f"side-guide-simulator, seed {study.seed}"),
    ]


def in_short(study: Study, display: Display) -> list[Row]:
    """Return what stands on the first screen of a study, size by size."""
    shown = []
    for size in summarize(study):
        rows = []
        for stage in size.stages:
            now = display.setting(stage.answer.pack.clear_width_mm, unit=False)
            rows.append((stage.answer.stage, (now, *stage_cells(stage, display))))
        steps = [step_words(step, len(size.stages), display) for step in size.steps]
        shown.append(
            {
                "size": size.size,
                "level": size.level,
                "state": STATE_WORDS[size.level],
                "sentence": sentence(size),
                "lanes": size.setting.reason if size.calls else "",
                "rows": [{"stages": stages, "cells": cells} for stages, cells in alike(rows)],
                "unsafe": not all(stage.part.safe for stage in size.stages),
                "steps": [{"level": s, "where": where, "what": what} for s, where, what in steps],
            }
        )
    return shown


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
    every = len(finding.stages) == len(study.scenario.stages) > 1
    return {
        "level": finding.level,
        "size": finding.size,
        "stages": "every stage" if every else ", ".join(finding.stages),
        "what": finding.what_in(display.length),
        "do": "; ".join(finding.do_in(display.to_set)),
        "more": [],
    }


def chance_parts(told: Iterable[Told]) -> list[Row]:
    """Return the chance of a tip for each setting, as texts of a table and of the lines below."""
    return [{"name": t.name, "heads": HEADS, "rows": t.rows, "said": t.said} for t in told]


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
        ("pack pushed to one side", _worst(answer.tipping.gathered, display)),
        ("one can alone, neighbours still", _worst(answer.tipping.own, display)),
    ]


def environment() -> Any:
    """Return the jinja2 environment, which is loaded when first asked for."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("packsim.report.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def cleaned(value: Any) -> Any:
    """Turn control characters in every text of a nest of texts into spaces; HTML may hold none."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, dict):
        return {key: cleaned(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [cleaned(item) for item in value]
    return value
