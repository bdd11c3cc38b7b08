"""The study page: whole, self-contained, escaped, printable."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from packsim.headers import check_headers
from packsim.line import Kicks
from packsim.report.page import page_charts
from packsim.report.page.page import study_page
from packsim.report.page.page_parts import governing
from packsim.report.words.display import Display
from packsim.report.words.numbers import CAUTIONS, signed
from packsim.size_change import plan_change
from packsim.study import study_line
from tests.browser import NEEDS_BROWSER, sheets_of

VOID_TAGS = {"meta", "br", "link", "img", "input", "hr"}
NASTY = "<script>alert('x')</script> & \"line\""


def parse(svg: str) -> ET.Element:
    """Read what our own writers wrote."""
    return ET.fromstring(svg)  # noqa: S314 - our own output, not a stranger's


class Page(HTMLParser):
    """Checks that tags close in order; collects text, tags and attributes."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.stack: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in VOID_TAGS:
            self.stack.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.stack
        assert self.stack.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.words.append(" ".join(data.split()))


@pytest.fixture(scope="module", autouse=True)
def few_steps():
    """Sweeps of a few widths: how many there are is not what is tested here."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(page_charts, "SWEEP_STEPS", 5)
        yield


@pytest.fixture(scope="module")
def found(small):
    headers = (small.header(), small.header("below"))
    stages = (
        small.stage(name="wash", width_mm=640.0, headers=headers, hold_down_mm=130.0),
        small.stage(name="drain", width_mm=655.0, duty="drain"),
    )
    cans = (small.can(name="short"), small.can(name="tall", height_mm=155.0))
    return study_line(small.line(*stages, cans=cans))


@pytest.fixture(scope="module")
def html(found):
    return study_page(found, Display())


@pytest.fixture(scope="module")
def page(html):
    parsed = Page()
    parsed.feed(html)
    parsed.close()
    return parsed


def test_every_tag_closes(page):
    assert page.stack == []


def test_no_two_things_of_the_page_share_a_name(small):
    """Two sizes that differ by name alone have the same charts."""
    stages = (small.stage(name="wash", headers=(small.header(),)), small.stage(name="drain"))
    twins = (small.can(name="one"), small.can(name="two"))
    html = study_page(study_line(small.line(*stages, cans=twins)), Display())
    names = re.findall(r' id="([^"]+)"', html)
    assert names
    assert len(names) == len(set(names))


def test_every_drawing_is_well_formed_xml(html, found):
    drawings = re.findall(r"<svg.*?</svg>", html, flags=re.DOTALL)
    # plan, elevation, budget, windows, sweep, doses and footprints per size
    assert len(drawings) == 7 * len(found.scenario.sizes)
    for drawing in drawings:
        assert parse(drawing).tag == "svg"


def test_a_reader_that_cannot_see_hears_what_each_drawing_and_table_is(html, page):
    for drawing in re.findall(r"<svg.*?</svg>", html, flags=re.DOTALL):
        root = parse(drawing)
        assert root.get("role") == "img"
        assert root.get("aria-label")
        assert root[0].tag.endswith("title")
        assert root[0].text
    heads = re.findall(r"<th\b[^>]*>", html)
    assert heads
    assert all(re.search(r'scope="(col|row|rowgroup)"', head) for head in heads)


def test_boxes_to_write_in_are_ruled_dark_enough(html):
    """At 3:1 or more against the paper (W3C, WCAG 2.1, success criterion 1.4.11)."""
    ink = re.search(r"--ink: #(\w{6})", html)
    assert ink
    shares = [int(ink[1][i : i + 2], 16) / 255.0 for i in (0, 2, 4)]
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    assert 1.05 / (luminance + 0.05) >= 3.0
    for box in (r"\.crew td\.blank", r"\.tick i"):
        assert re.search(box + r" {[^}]*border: 0\.\d+mm solid var\(--ink\)", html)


def test_nothing_is_fetched(html, page):
    assert not re.search(r"https?:|//[a-z]|@import|<script|<link|<img|<iframe", html)
    for name, value in page.attributes:
        if name in ("src", "href", "xlink:href", "data", "action"):
            assert value.startswith("#")
    for target in re.findall(r"url\(([^)]*)\)", html):
        assert target.startswith("#")


def test_names_inside_are_unique(page):
    names = [value for name, value in page.attributes if name == "id"]
    assert len(names) == len(set(names))


def test_findings_stand_before_everything_else(html):
    assert html.index("Findings</h2>") < html.index("Every stage</h2>") < html.index("<svg")


def test_the_page_says_what_the_study_found(page, found):
    text = " ".join(page.words)
    for finding in found.findings:
        assert finding.what in text
        assert finding.do in text
    for answer in found.answers:
        assert f"{answer.budget.loosest_mm:.1f}" in text
    for line in CAUTIONS:
        assert line in text
    for assumption in found.assumed:
        assert assumption.value in text


def test_no_page_lacks_the_cautions():
    folder = Path(page_charts.__file__).with_name("templates")
    texts = {file.name: file.read_text(encoding="utf-8") for file in folder.glob("*.html")}
    whole = {name: text for name, text in texts.items() if "</html>" in text}
    assert {"study.html", "change.html", "compare.html", "proposal.html"} <= whole.keys()
    for name, text in whole.items():
        assert re.search(r"\{\{ caution_line \}\}|\{\{ cautions|cautions_part", text), name


def test_everything_that_moves_has_a_place_for_as_found_and_as_left(html, found):
    case = found.scenario
    change = plan_change(case, case.set_for, "tall")
    sheet = html[html.index("Size change sheet") :]
    sheet = sheet[: sheet.index("</section>")]
    # a row that stays has nothing to write, the mat speed has its own row
    stays = sheet.count('<tr class="stays">')
    rows = len(re.findall(r'<td class="n"><b class="big">', sheet))
    assert sheet.count('<td class="blank"></td>') == 2 * (rows - stays + 1)
    for words in ("Set by", "Checked by", "Date and time", "Caution."):
        assert words in sheet
    for move in change.moves:
        assert f'<b class="big">{move.new_mm:.1f}</b>' in sheet
    assert "Inches to 1/32 in, finer for a gauge" in sheet


def test_the_stage_with_the_least_room_is_drawn(found):
    chosen = governing(found.of_size("tall"))
    assert chosen.window.width_mm == min(s.window.width_mm for s in found.of_size("tall"))


def test_the_same_study_gives_the_same_page(found, html):
    assert study_page(found, Display()) == html
    assert len(html.encode()) < 2_000_000


def test_markup_in_names_stays_text(small):
    case = replace(small.line(small.stage(name=NASTY), cans=(small.can(name=NASTY),)), name=NASTY)
    html = study_page(study_line(replace(case, about=NASTY + "\x00\x1b")), Display())
    assert "<script" not in html
    assert not re.search(r"[\x00-\x08\x0b-\x1f]", html)
    parsed = Page()
    parsed.feed(html)
    assert parsed.stack == []
    assert NASTY in " ".join(parsed.words)
    for drawing in re.findall(r"<svg.*?</svg>", html, flags=re.DOTALL):
        parse(drawing)


def test_the_page_shows_what_headers_take_and_do(html, found, small):
    part = html[html.index("Headers</h2>") : html.index("What if</h2>")]
    for size in ("short", "tall"):
        assert f"{size} under the headers" in part
    for check in check_headers(found.scenario):
        for side in check.sides:
            for work in side.work:
                flow = work.flow_L_per_min
                assert f">{signed(flow, 0 if flow >= 100 else 1 if flow >= 10 else 2)}</td>" in part
        for dose in check.doses:
            assert f">{dose.landing.wet_s:.2f}</td>" in part or dose.place == "outside"
    # two sizes, each its doses and its footprints
    assert part.count("<figure>") == 4
    dry = study_page(study_line(small.line(small.stage(name="drain", duty="drain"))), Display())
    assert "under the headers" not in dry


def test_a_pack_that_does_not_fit_still_makes_a_page(small):
    stage = small.stage(width_mm=50.0, headers=(small.header(),))
    html = study_page(study_line(small.line(stage)), Display())
    assert "does not fit" in html


def test_inch_pages_hold_no_millimetres(found):
    html = study_page(found, Display("inch"))
    body = html[html.index("<main>") : html.index("Assumptions and sources")]
    text = re.sub(r"<svg[^>]*>|<[^>]*>", " ", body)
    assert re.findall(r"\d mm\b", text) == []


def test_the_page_names_the_trials_its_kicks_were_fitted_to(small):
    kicks = Kicks(0.05, 2.0, trial="floor trial <7>")
    line = small.line(small.stage(kicks=kicks), small.stage(name="dry", duty="drain"))
    html = study_page(study_line(line), Display())
    front = html[: html.index("Findings</h2>")]
    assert "kicks of flood fitted to floor trial &lt;7&gt;; kicks of drain assumed" in front
    assert "Kick energies fitted to trials" in html
    bare = study_page(study_line(small.line(small.stage())), Display())
    assert "assumed kicks: no trial has fitted them" in bare
    assert "Kick energies fitted to trials" not in bare


def test_an_inch_page_sets_brackets_to_whole_marks(found):
    case = replace(found.scenario, rule_step_mm=Display("inch").rule_step_mm)
    html = study_page(study_line(case), Display("inch"))
    sheet = html[html.index("Size change sheet") :]
    change = plan_change(case, case.set_for, "tall", step_mm=25.4 / 32.0)
    for move in change.moves:
        if move.direction != "stay":
            marks = move.new_mm / 25.4 * 32.0
            assert marks == pytest.approx(round(marks), abs=1e-9)
        mark = Display("inch").fraction(move.new_mm)
        assert f'<b class="big">{mark}</b>' in sheet


def test_the_legend_explains_the_columns_of_the_page_only(html):
    every = html[html.index("Every stage</h2>") : html.index("<svg")]
    assert "hold margin" not in every
    assert "tip index" in every


def test_progress_ends_at_its_end(small):
    ticks: list[tuple[int, int]] = []
    study_page(study_line(small.line(small.stage())), Display(), lambda *tick: ticks.append(tick))
    assert [done for done, _ in ticks] == list(range(1, len(ticks) + 1))
    assert ticks[-1][0] == ticks[-1][1]


@NEEDS_BROWSER
@pytest.mark.parametrize(
    ("paper", "size_pt"),
    [pytest.param("A4", (595, 842), marks=pytest.mark.all), ("letter", (612, 792))],
)
def test_a_browser_prints_it_on_both_papers(html, tmp_path, paper, size_pt):
    sheets = sheets_of(html, paper, tmp_path)
    assert len(sheets) >= 6
    for sheet in sheets:
        assert sheet == pytest.approx(size_pt, abs=1.5)
