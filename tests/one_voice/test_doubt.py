"""Study, page, table, JSON and Python say one share of a verdict, and one thing to measure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import packsim
from packsim.doubt.doubt import Doubt
from packsim.findings import Finding
from packsim.findings.finding import in_brief
from packsim.findings.unsettled import VISIT
from packsim.line import Scenario
from packsim.report.files.as_json import as_json
from packsim.report.page.page_parts import findings as page_findings
from packsim.report.terminal.doubt_table import doubt_report
from packsim.report.terminal.study_table import study_report
from packsim.report.words.display import Display
from packsim.study import Study, study_line
from tests.one_voice.test_printed_words import printed

ROOT = Path(__file__).resolve().parents[2]
LINES: dict[str, tuple[str, ...]] = {
    "first_look": (),
    "height_only": (),
    "oven_lane": (),
    "imperial_line": (),
    "swing_line": ("wash", "treatment"),  # a second of draws for each stage and size
}
"""Shipped lines, and the stages to ask about; all where none is named."""

NAMES = [
    pytest.param(name, marks=() if name in ("first_look", "oven_lane") else pytest.mark.all)
    for name in LINES
]

_SHARE = re.compile(r"(held|loose|can tip|tight) in ((?:over |under )?\d+(?: to (?:over )?\d+)? %)")
_MEASURE = re.compile(r"measure first: ([^;]+)")


@dataclass(frozen=True)
class Asked:
    """One line, asked about by the two commands."""

    case: Scenario
    study: Study
    doubt: Doubt

    @property
    def open(self) -> list[Finding]:
        """Findings that say in what share of what is possible a verdict stands."""
        return [one for one in self.study.findings if "sure_share" in one.values[0]]


@cache
def asked(name: str) -> Asked:
    case = packsim.load_scenario(ROOT / "scenarios" / f"{name}.toml")
    stages = LINES[name]
    return Asked(
        case, study_line(case, stages=stages or None), packsim.doubt_line(case, None, stages)
    )


def range_of(words: list[str]) -> str:
    """Say the least and the most of some shares in words, as a finding over stages does."""
    rank = {"under": 0.4, "over": 99.6}
    ordered = sorted(
        set(words), key=lambda one: rank.get(one.split()[0], 0.0) or float(one.split()[0])
    )
    ends = ordered[0], ordered[-1]
    return ends[0] if ends[0] == ends[1] else f"{ends[0].removesuffix(' %')} to {ends[1]}"


@pytest.mark.all
def test_most_lines_have_something_to_measure_before_guides_are_moved() -> None:
    assert sum(len(asked(name).open) for name in LINES) > 10


@pytest.mark.parametrize("name", NAMES)
def test_the_shares_of_findings_are_those_doubt_finds(name: str) -> None:
    line = asked(name)
    told = {
        (place["stage"], place["size"]): place["confidence"]
        for place in as_json("doubt", line.case, line.doubt)["places"]
    }
    assert told.keys() == {(one.stage, one.size) for one in line.study.answers}
    for answer in line.study.answers:
        here = told[answer.stage, answer.size]
        sure = line.doubt.place(answer.stage, answer.size).confidence
        assert here["verdict"] == answer.tipping.verdict == sure.verdict
        assert here["share"] == here["share_by_verdict"][sure.verdict] == sure.share
    for one in line.open:
        for stage, values in zip(one.stages, one.values, strict=True):
            here = told[stage, one.size]
            assert values["sure_share"] == here["share"]
            if "right_share" in values:
                assert values["right_share"] in here["share_by_move"].values()
            if "other_share" in values:
                assert values["other_share"] in here["share_by_verdict"].values()


@pytest.mark.parametrize("name", NAMES)
def test_swings_start_from_what_every_command_tells(name: str) -> None:
    """The safe slack of a swing was 0.3 % off that of study: sprays are looked at less closely."""
    line = asked(name)
    for answer in line.study.answers:
        for swing in line.doubt.place(answer.stage, answer.size).swings:
            now = swing.as_taken
            if np.isfinite(answer.tipping.loosest.worst) and answer.pack.fits:
                want = answer.tipping.loosest.worst, answer.tipping.safe.slack_mm
                assert (now["tip_index"], now["safe_slack_mm"]) == pytest.approx(want, rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_printed_of_a_share_is_one_text(name: str) -> None:
    line = asked(name)
    display = Display(line.case.units)
    table = printed(doubt_report(line.doubt, line.case, display, tables=True))
    by_head = {text.partition(": ")[0]: text for text in table}
    heads = {
        (place.stage, place.size): by_head[f"{place.stage}, {place.size}"]
        for place in line.doubt.places
    }
    page = page_findings(line.study, display)
    full = " ".join(" ".join(printed(study_report(line.study, display, everything=True))).split())
    for one in line.open:
        said = [_SHARE.findall(heads[stage, one.size])[0] for stage in one.stages]
        (verdict,) = {word for word, _ in said}
        want = verdict, range_of([share for _, share in said])
        what = one.what_in(display.length)
        for text in (what, in_brief([one])[0].what):
            found = _SHARE.search(text)
            assert found is not None, text
            assert found.groups() == want
        assert any(what == row["what"] for row in page)
        assert f"{want[0]} in {want[1]} of what is possible" in full


@pytest.mark.parametrize("name", NAMES)
def test_what_a_finding_says_to_measure_is_in_the_list_of_doubt(name: str) -> None:
    line = asked(name)
    for one in line.study.findings:
        named = _MEASURE.search(one.do)
        if named is None:
            continue
        assert one.command == VISIT
        for stage in one.stages:
            gains = line.doubt.place(stage, one.size).gains
            names = {gain.action.name for gain in gains}
            assert named[1] in names, (stage, one.size)
            assert named[1] in {measure.action.name for measure in line.doubt.measures}
