"""Packs, voids and studies show themselves in a notebook after a plain ``import packsim``."""

from __future__ import annotations

import subprocess
import sys
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path
from typing import ClassVar

import pytest

import packsim
from packsim.trial import chances
from tests.one_voice.conftest import none_tip

SVG = "{http://www.w3.org/2000/svg}"


def parse(svg: str) -> ET.Element:
    """Read what our own writers wrote."""
    return ET.fromstring(svg)  # noqa: S314 - our own output, not a stranger's


class Formatter:
    """What a notebook does: ask an object for each kind it might show itself as."""

    kinds: ClassVar = {"image/svg+xml": "_repr_svg_", "text/html": "_repr_html_"}

    def __call__(self, thing: object) -> dict[str, str]:
        methods = {kind: getattr(thing, name, None) for kind, name in self.kinds.items()}
        return {kind: method() for kind, method in methods.items() if method is not None}


class Cells(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data.strip())


def test_a_pack_shows_its_cans():
    pack = packsim.pack_between(700.0, 66.0)
    tree = parse(Formatter()(pack)["image/svg+xml"])
    (group,) = [g for g in tree.iter(f"{SVG}g") if g.attrib["class"] == "can"]
    assert len(list(group)) == len(pack)


def test_voids_show_their_circles_and_their_numbers():
    voids = packsim.find_voids(packsim.pack_between(1130.0, 66.0, state="blocks"))
    shown = Formatter()(voids)
    tree = parse(shown["image/svg+xml"])
    assert len(list(tree.iter(f"{SVG}circle"))) == int((voids.circle_mm > 0.0).sum())
    cells = Cells()
    cells.feed(shown["text/html"])
    assert "crack" in cells.found
    assert str(voids.by_place["crack"]) in cells.found


def test_a_study_shows_its_findings_escaped(small):
    case = small.line(small.stage(name="<b>wash</b>"))
    study = packsim.study_line(case)
    html = Formatter()(study)["text/html"]
    assert "<b>wash" not in html
    cells = Cells()
    cells.feed(html)
    assert "<b>wash</b>" in cells.found
    assert study.findings[0].what in " ".join(cells.found)


def test_showing_needs_nothing_imported_before():
    code = (
        "import sys, packsim; p = packsim.pack_between(300.0, 66.0);"
        "assert not [m for m in sys.modules if m.startswith('packsim.report')];"
        "assert p._repr_svg_().startswith('<svg')"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_every_result_shows_itself_in_light_and_dark(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(chances, "chance_of", none_tip)
    line = packsim.load_scenario(root / "scenarios" / "swing_line.toml")
    stage, size = line.stages[2].name, line.sizes[0].name
    for result in (
        packsim.explain_stage(line, stage, size),
        packsim.sweep_stage(line, "clear-width", (1388.0, 1390.0), stage, size),
        packsim.check_headers(line, [stage], [size])[0],
        packsim.find_shifts(line, [stage], [size])[0],
        packsim.plan_trial(line),
    ):
        html = Formatter()(result)["text/html"]
        assert ET.fromstring(html).tag == "table"  # noqa: S314 - our own output
        assert "color" not in html  # the page's own colours, light or dark
    answer = packsim.answer_stage(line, stage, size)
    for drawn in (answer.pack, packsim.draw_plan(answer, line)):
        svg = Formatter()(drawn)["image/svg+xml"]
        assert "prefers-color-scheme: dark" in svg
        assert parse(svg).attrib["class"] == "packsim"


def test_doubts_show_their_verdicts_what_to_measure_and_the_swings():
    found = packsim.doubt_line(packsim.load_scenario("scenarios/first_look.toml"))
    table, svg, rest = Formatter()(found)["text/html"].partition("<svg")
    cells = Cells()
    cells.feed(table)
    sure = found.places[0].confidence
    assert any(cell.startswith(sure.said) for cell in cells.found)
    assert sum(cell.startswith(found.measures[0].action.name) for cell in cells.found) == 1
    assert "What swings the tip index?" in "".join(parse(svg + rest).itertext())
