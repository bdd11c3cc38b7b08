"""What the study page says, as plain texts by section; the template only lays them out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from packsim.answers import Answer, WorstLean
from packsim.answers.quantities import quantity
from packsim.report.words.display import Display, span, thousands
from packsim.report.words.kick_sources import kicks_text
from packsim.report.words.legend import FACT_KEYS, PAGE_KEYS, keys_for
from packsim.study import LEVELS, Finding, Study

Row = dict[str, Any]

WORST_VERDICT = ("can tip", "tight", "loose", "held")
LEVEL_WORDS = {"stop": "stop", "change": "change", "watch": "warning"}


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


def digest(study: Study, display: Display) -> list[Row]:
    """Return one line per size for the reader who reads no further."""
    rows = []
    for can in study.scenario.sizes:
        answers = study.of_size(can.name)
        found = [f for f in study.findings if f.size == can.name]
        level = next(level for level in LEVELS if any(f.level == level for f in found))
        worst = min(
            (answer.tipping.verdict for answer in answers),
            key=lambda verdict: WORST_VERDICT.index(verdict),
        )
        targets = [s.window.target_mm for s in answers if s.window.target_mm is not None]
        missing = sum(s.window.empty for s in answers)
        counts = {lv: sum(f.level == lv for f in found) for lv in LEVELS if lv != "note"}
        rows.append(
            {
                "size": can.name,
                "level": level,
                "words": _level_words(level),
                "worst": worst,
                "lanes": _span_of([answer.pack.lanes for answer in answers]),
                "now": display.settings(answer.pack.clear_width_mm for answer in answers),
                "target": display.settings(targets) if targets else "–",
                "empty": f"none in {missing} of {len(answers)} stages" if missing else "",
                "rate": _span_of([round(answer.flow.cans_per_min) for answer in answers]),
                "counts": ", ".join(
                    f"{n} {LEVEL_WORDS[lv]}{'' if n == 1 else 's'}" for lv, n in counts.items() if n
                )
                or "nothing to change",
            }
        )
    return rows


def _level_words(level: str) -> str:
    return {
        "stop": "cannot run as set",
        "change": "change settings before a run",
        "watch": "runs; check the warnings",
        "note": "runs as set",
    }[level]


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


def summary(study: Study, size: str, display: Display) -> tuple[list[str], list[Row]]:
    """Return headings and one row per stage for one size."""
    answers = study.of_size(size)
    chosen = governing(answers)
    shown = [quantity(key) for key in keys_for(PAGE_KEYS, answers)]
    rows = []
    for answer in answers:
        cells = [
            ("verdict" if one.kind == "word" else "n", display.show(one.kind, value, unit=False))
            for one, value in ((one, one.of(answer)) for one in shown)
        ]
        rows.append({"stage": answer.stage, "drawn": answer is chosen, "cells": cells})
    return [q.heading for q in shown], rows


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


def _span_of(numbers: Sequence[int]) -> str:
    return span(thousands(min(numbers)), thousands(max(numbers)))
