"""The drawing of a header: a shop can make it, and it says the same in every kind of file."""

from __future__ import annotations

import csv
import io
import math
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from io import StringIO
from itertools import pairwise
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.headers import HeaderDesign, design_headers
from packsim.line import Scenario
from packsim.report.drawings.drawing import Drawing, Hole, Label, Ordinate
from packsim.report.drawings.drawing_files import drawing_bytes, drawing_svg
from packsim.report.drawings.dxf import drawing_dxf
from packsim.report.drawings.exploded import painted
from packsim.report.drawings.header_sheet import header_sheets, spread
from packsim.report.drawings.sheet_tools import TEXT_ASPECT
from packsim.report.files.csv_tables import holes_csv
from packsim.report.words.drilling import Drilling, Shop, drillings, hole_mm, shop_text
from packsim.scenario import load_scenario

SHOP = Shop("1/4 NPT", None, 60.3, (-20.0, 1630.0), "H-7", "B", "2 May")


@pytest.fixture(scope="module")
def swing(root: Any) -> Scenario:
    return load_scenario(root / "scenarios" / "swing_line.toml")


@pytest.fixture(scope="module")
def designs(swing: Scenario) -> tuple[HeaderDesign, ...]:
    return design_headers(swing, ["wash"])


@pytest.fixture(scope="module")
def made(swing: Scenario, designs: tuple[HeaderDesign, ...]) -> tuple[Drilling, ...]:
    return drillings(designs, swing.mat.width_mm, SHOP)


@pytest.fixture(scope="module")
def sheets(swing: Scenario, made: tuple[Drilling, ...]) -> tuple[Drawing, ...]:
    return header_sheets(swing.name, made, "0123456789ab")


@pytest.fixture(scope="module")
def document(sheets: tuple[Drawing, ...]) -> Any:
    return ezdxf.read(StringIO(drawing_dxf(*sheets)))


def test_every_hole_of_the_design_is_there_once(
    designs: tuple[HeaderDesign, ...], made: tuple[Drilling, ...]
) -> None:
    rows = [
        row
        for one in designs
        for row in (one.best.nozzles_mm[:1] if one.best.in_line else one.best.nozzles_mm)
    ]
    assert len(made) == len(rows)
    for one, row in zip(made, rows, strict=True):
        np.testing.assert_allclose(one.from_end_mm - 20.0, np.sort(row), atol=0.05 + 1e-9)
    headers = sum(len(each) for one in designs for each in one.today)
    assert sum(len(one.stations) for one in made) == headers


def test_the_dxf_has_no_errors_and_a_hole_for_each_nozzle(
    document: Any, made: tuple[Drilling, ...]
) -> None:
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert document.units == 4
    space = document.modelspace()
    holes = [i for i in space.query("INSERT") if i.dxf.layer == "HOLES"]
    assert len(holes) == sum(len(one.places_mm) for one in made)
    assert {i.get_attrib_text("SIZE") for i in holes} == {"1/4 NPT"}
    places = Counter(round(i.dxf.insert.x, 6) for i in holes)
    want = Counter(round(float(x) - 20.0, 6) for one in made for x in one.from_end_mm)
    assert places == want
    numbers = [int(i.get_attrib_text("NUMBER")) for i in holes]
    assert numbers == [k for one in made for k in range(1, len(one.places_mm) + 1)]
    assert {"PIPE", "MAT", "DIMENSIONS", "DATUM", "GUIDE_WIRES", "LANE_CENTRES", "LABELS"} <= {
        entity.dxf.layer for entity in space
    }


def test_dimensions_measure_what_they_say(document: Any, made: tuple[Drilling, ...]) -> None:
    found: dict[str, list[float]] = {"SHOP_MM": [], "SHOP_IN": []}
    pipe: dict[str, list[float]] = {"SHOP_MM": [], "SHOP_IN": []}
    for dimension in document.modelspace().query("DIMENSION"):
        style, measured = dimension.dxf.dimstyle, dimension.get_measurement()
        assert dimension.dxf.text == "<>"
        ordinate = hasattr(measured, "x")
        mm = float(measured.x if ordinate else measured)
        (found if ordinate else pipe)[style].append(mm)
        (text,) = [e for e in dimension.get_geometry_block() if e.dxftype() == "MTEXT"]
        per, off = (1.0, 0.051) if style == "SHOP_MM" else (25.4, 0.0026)
        assert float(text.text) == pytest.approx(mm / per, abs=off)
    want = sorted([0.0] * len(made) + [float(x) for one in made for x in one.from_end_mm])
    for values in found.values():
        np.testing.assert_allclose(sorted(values), want, atol=1e-6)
    assert {round(x, 6) for x in pipe["SHOP_MM"]} == {820.0, 1650.0}


def test_each_header_has_a_sheet_with_a_title_block(
    document: Any, sheets: tuple[Drawing, ...], made: tuple[Drilling, ...]
) -> None:
    names = [name for name in document.layouts.names() if name != "Model"]
    assert names == [f"Sheet {k}" for k in range(1, len(made) + 1)]
    for name, one, sheet in zip(names, made, sheets, strict=True):
        layout = document.layouts.get(name)
        (block,) = layout.query("INSERT")
        told = {a.dxf.tag: a.dxf.text for a in block.attribs}
        assert told["SIZE_1"].startswith("211 body: 24 lanes, clear width ")
        assert told["SCENARIO"] == "Swing line, 211 and sleek"
        assert (told["DRAWING_NUMBER"], told["REVISION"], told["DATE"]) == ("H-7", "B", "2 May")
        assert told["SCENARIO_HASH"] == "0123456789ab"
        assert told["PROGRAM"].startswith("packsim ")
        assert told["HOLES"] == f"{len(one.places_mm)} x 1/4 NPT"
        assert told["SCALE"] == f"1:{sheet.scale:g}"
        (window,) = [v for v in layout.query("VIEWPORT") if v.dxf.id != 1]
        assert window.dxf.view_height / window.dxf.height == pytest.approx(sheet.scale)
        centre = [(a + b) / 2.0 for a, b in zip(sheet.low_mm, sheet.high_mm, strict=True)]
        assert list(window.dxf.view_center_point)[:2] == pytest.approx(centre)


def test_extents_hold_all_that_is_drawn(document: Any, sheets: tuple[Drawing, ...]) -> None:
    from ezdxf.bbox import extents

    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    box = extents(document.modelspace())
    assert low[0] <= box.extmin.x <= box.extmax.x <= high[0]
    assert low[1] <= box.extmin.y <= box.extmax.y <= high[1]
    assert low[1] == pytest.approx(min(sheet.low_mm[1] for sheet in sheets))
    for above, below in pairwise(sheets):
        assert below.high_mm[1] < above.low_mm[1]


def boxes(sheet: Drawing) -> Iterator[tuple[str, shapely.Geometry]]:
    """Yield every text of a sheet with the box it takes."""
    for thing in painted(sheet):
        if not isinstance(thing, Label) or not thing.text:
            continue
        long, tall = TEXT_ASPECT * thing.size_mm * len(thing.text), 0.72 * thing.size_mm
        start = {"start": 0.0, "middle": -long / 2.0, "end": -long}[thing.anchor]
        box = shapely.box(start, -tall / 2.0, start + long, tall / 2.0)
        box = shapely.affinity.rotate(box, thing.turn_rad, origin=(0, 0), use_radians=True)
        yield thing.text, shapely.affinity.translate(box, *thing.at_mm)


@pytest.mark.parametrize("pitch", [None, "24 mm"])
def test_no_text_lies_on_another_or_out_of_the_frame(
    swing: Scenario,
    designs: tuple[HeaderDesign, ...],
    sheets: tuple[Drawing, ...],
    pitch: str | None,
) -> None:
    if pitch:  # more holes than ordinates have room for beside them
        best = replace(designs[1].best, nozzles_mm=(60.0 + 24.0 * np.arange(62),), pitch_mm=24.0)
        many = replace(designs[1], proposals=(best,))
        name = "A line with a name that says more than a sheet has room for, " * 4
        sheets = header_sheets(name, drillings([many], 1600.0, Shop()), "0")
    for sheet in sheets:
        texts = list(boxes(sheet))
        (x0, y0), (x1, y1), off = sheet.low_mm, sheet.high_mm, 10.0 * sheet.scale
        frame = shapely.box(x0 + off, y0 + off, x1 - off, y1 - off)
        assert [text for text, box in texts if not frame.covers(box)] == []
        tree = shapely.STRtree([box for _, box in texts])
        pairs = tree.query([box for _, box in texts], predicate="overlaps").T
        assert [(texts[a][0], texts[b][0]) for a, b in pairs if a < b] == []


def test_svg_and_pdf_show_every_sheet(sheets: tuple[Drawing, ...]) -> None:
    svg = drawing_svg(*sheets)
    assert svg.count("<title>") == len(sheets) + 1
    holes = [thing for sheet in sheets for thing in sheet.primitives if isinstance(thing, Hole)]
    groups = re.findall(r'<g class="hole".*?</g>', svg, flags=re.DOTALL)
    assert sum(group.count("<circle") for group in groups) == len(holes)
    few = sheets[:2]
    pdf = drawing_bytes(few, ".pdf")
    assert len(re.findall(rb"/Type /Page\b", pdf)) == len(few)
    assert b"/CreationDate" not in pdf
    (paper,) = set(re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", pdf))
    assert [float(x) / 72.0 * 25.4 for x in paper] == pytest.approx([420.0, 297.0], abs=0.01)
    assert pdf == drawing_bytes(few, ".pdf")


def test_the_csv_says_what_the_drawing_says(
    swing: Scenario, made: tuple[Drilling, ...], sheets: tuple[Drawing, ...]
) -> None:
    text = holes_csv(swing.name, made)
    head = [line for line in text.splitlines() if line.startswith("# ")]
    for said in ("Swing line", "211 body: 24 lanes; clear width", "datum A", "within 0.5 mm"):
        assert any(said in line for line in head)
    table = [line for line in text.splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(io.StringIO("\n".join(table))))
    drawn = [
        (thing.unit, float(thing.text))
        for sheet in sheets
        for thing in sheet.primitives
        if isinstance(thing, Ordinate) and float(thing.text) != 0.0
    ]
    for unit in ("mm", "in"):
        want = sorted(value for name, value in drawn if name == unit)
        assert sorted(float(row[f"from_A_{unit}"]) for row in rows) == pytest.approx(want)
    for row in rows:
        assert float(row["from_A_mm"]) - float(row["from_B_mm"]) == pytest.approx(820.0)
        assert float(row["from_A_in"]) * 25.4 == pytest.approx(float(row["from_A_mm"]), abs=0.064)


def test_what_was_not_given_is_said(swing: Scenario, designs: tuple[HeaderDesign, ...]) -> None:
    for shop, missing in ((Shop(), 3), (replace(SHOP, hole="8 mm", hole_mm=8.0), 0)):
        (*_, sheet) = header_sheets(swing.name, drillings(designs, 1600.0, shop), "0")
        notes = " ".join(thing.text for thing in sheet.paper if isinstance(thing, Label))
        said = ("Pipe ends were not given", "Pipe diameter was not given", "as marks")
        assert sum(word in notes for word in said) == missing
    assert (hole_mm("8 mm"), hole_mm("1/4 NPT"), hole_mm("")) == (8.0, None, None)


def test_another_header_of_the_table_may_be_drawn(
    swing: Scenario, designs: tuple[HeaderDesign, ...]
) -> None:
    today = drillings(designs, swing.mat.width_mm, Shop(), "today")
    for one in today:
        (header,) = {(h.first_mm, h.pitch_mm, h.count) for h in one.design.today[0]}
        want = header[0] + header[1] * np.arange(header[2])
        np.testing.assert_allclose(one.from_end_mm, want, atol=0.05)
    with pytest.raises(InputError, match="best"):
        drillings(designs, swing.mat.width_mm, Shop(), "nope")
    with pytest.raises(InputError, match="longer"):
        drillings(designs, swing.mat.width_mm, Shop(pipe_mm=(0.0, 900.0)))


def test_a_pipe_goes_on_beyond_holes_outside_the_mat(designs: tuple[HeaderDesign, ...]) -> None:
    best = replace(designs[1].best, nozzles_mm=(np.linspace(-30.0, 1500.0, 24),))
    (one,) = drillings([replace(designs[1], proposals=(best,))], 1600.0, Shop())
    assert one.ends_mm[0] < one.places_mm[0] < 0.0
    assert one.ends_mm[1] == 1600.0


@given(st.lists(st.floats(0.0, 1000.0), min_size=1, max_size=30).map(sorted), st.floats(0.5, 20.0))
def test_labels_keep_their_order_and_their_distance(places: list[float], step: float) -> None:
    moved = spread(np.array(places), step)
    assert np.all(np.diff(moved) >= step - 1e-9)
    if len(places) < 2 or min(np.diff(places)) >= step + 1e-6:
        np.testing.assert_allclose(moved, places)
    assert float(np.mean(moved)) == pytest.approx(float(np.mean(places)), abs=1e-6)


@given(st.floats(-3000.0, 3000.0))
def test_shop_lengths_are_within_half_a_step(mm: float) -> None:
    assert abs(float(shop_text(mm, "mm")) - mm) <= 0.05 + 1e-9
    inches = float(shop_text(mm, "in"))
    assert abs(inches - mm / 25.4) <= 0.0025 + 1e-9
    assert math.isclose(inches / 0.005, round(inches / 0.005), abs_tol=1e-6)
