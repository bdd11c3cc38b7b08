"""What the study page says, as plain texts by section; the template only lays them out."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from packsim.answers import Answer, WorstLean
from packsim.report.words.display import Display, per_million, percent, span, thousands
from packsim.report.words.kick_sources import kicks_text
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


def summary(study: Study, size: str, display: Display) -> list[Row]:
    """Return one row per stage for one size."""
    short, setting = display.bare, partial(display.setting, unit=False)
    rows = []
    chosen = governing(study.of_size(size))
    for answer in study.of_size(size):
        tipping, window, off = answer.tipping, answer.window, answer.alignment
        state = "" if answer.pack.state == "slack" else f" {answer.pack.state}"
        rows.append(
            {
                "stage": answer.stage,
                "drawn": answer is chosen,
                "width": setting(answer.pack.clear_width_mm),
                "lanes": f"{answer.pack.lanes}{state}",
                "slack": short(answer.budget.slack_mm),
                "loosest": short(tipping.loosest_slack_mm),
                "safe": short(tipping.safe.slack_mm),
                "balance": display.angle(tipping.balance_angle_rad),
                "index": display.index(tipping.loosest.worst),
                "window": display.window(window),
                "target": setting(window.target_mm),
                "off": "–" if off is None else short(off.now.worst_mm),
                "shifted": "–" if off is None else short(off.best.worst_mm),
                "dwell": f"{answer.dwell_s:.1f}",
                "verdict": tipping.verdict,
            }
        )
    return rows


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
    pack, tipping, window, hold = answer.pack, answer.tipping, answer.window, answer.hold_down
    length, angle, index = display.length, display.angle, display.index
    found = [
        ("Pack", f"{pack.lanes} lanes, {pack.layout}, {pack.state}"),
        ("Clear width", display.setting(pack.clear_width_mm)),
        (
            "Slack as set, and from tightest to loosest",
            f"{length(answer.budget.slack_mm)}; {length(answer.budget.tightest_mm)} to "
            f"{length(answer.budget.loosest_mm)}",
        ),
        ("Safe slack", f"{length(tipping.safe.slack_mm)}, {tipping.safe.governing} can first"),
        (
            "Balance angle at rest, and sprayed",
            f"{angle(tipping.rest_angle_rad)}; {angle(tipping.balance_angle_rad)}",
        ),
        (
            "Tip index at the guide and inside the pack",
            f"{index(tipping.loosest.edge)}; {index(tipping.loosest.centre)}",
        ),
        ("Pack pushed to one side", _worst(tipping.gathered, display)),
        ("One can alone, neighbours still", _worst(tipping.own, display)),
        (
            "Guide window",
            f"empty: {length(-window.width_mm)} are missing between tight and loose"
            if window.empty
            else f"{display.window(window, unit=True)}, ended by {window.high_by}",
        ),
        ("Set to", display.setting(window.target_mm)),
        (
            "Free area between the guides, largest free circle",
            f"{percent(answer.voids.free_area_fraction)}; {length(answer.voids.largest_circle_mm)}",
        ),
        ("Cans/min, dwell", f"{answer.flow.cans_per_min:,.0f}; {answer.dwell_s:.1f} s"),
        (
            "Tips per million: slack spread, all in one gap, loosest case",
            "; ".join(
                per_million(chance.per_million)
                for chance in (answer.chance, answer.chance_gathered, answer.chance_loosest)
            ),
        ),
    ]
    if hold is not None:
        over = f"{length(hold.clearance_mm, signed=True)} over the can tops"
        found.insert(6, ("Hold-down", f"{over}, {hold.state}; limit {length(hold.limit_mm)}"))
    if answer.alignment is not None:
        best = answer.alignment.best
        shift = length(best.shift_for_worst_mm, signed=True)
        found.insert(
            8,
            (
                "Worst lane off its nozzle, and after a shift",
                f"{length(answer.alignment.now.worst_mm)}; {length(best.worst_mm)} after {shift}",
            ),
        )
    return found


def _span_of(numbers: Sequence[int]) -> str:
    return span(thousands(min(numbers)), thousands(max(numbers)))
