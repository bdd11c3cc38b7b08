"""Drawings: what is drawn is what was answered, in real millimetres, in every kind of file."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from io import BytesIO, StringIO

import ezdxf
import numpy as np
import pytest
import shapely
from PIL import Image

from packsim.answers import answer_stage
from packsim.catalogue import can_size
from packsim.errors import InputError
from packsim.pack.state import pack_between
from packsim.report.drawings.can_section import CanSection
from packsim.report.drawings.drawing import (
    ROLES,
    Circle,
    Dimension,
    Drawing,
    Label,
    Polygon,
    Primitive,
    Stroke,
)
from packsim.report.drawings.drawing_files import drawing_bytes, drawing_png, drawing_svg
from packsim.report.drawings.dxf import drawing_dxf
from packsim.report.drawings.elevation_drawing import elevation_drawing
from packsim.report.drawings.exploded import exploded
from packsim.report.drawings.pack_drawing import pack_drawing, pack_primitives
from packsim.report.drawings.plan_drawing import plan_drawing
from packsim.report.drawings.side_by_side import WORDS, side_by_side
from packsim.report.words.display import Display
from packsim.scenario import load_scenario

SVG = "{http://www.w3.org/2000/svg}"
CASES = [("swing_line", 2, "sleek body"), ("oven_lane", 2, "12 oz"), ("height_only", 1, "16 oz")]


def parse(svg: str) -> ET.Element:
    """Read what our own writers wrote."""
    return ET.fromstring(svg)  # noqa: S314 - our own output, not a stranger's


def of_role(drawing: Drawing, role: str) -> list[Primitive]:
    """The primitives of one role."""
    return [thing for thing in drawing.primitives if thing.role == role]


@pytest.fixture(scope="module", params=CASES, ids=lambda case: case[0])
def case(request, root):
    name, index, size = request.param
    scenario = load_scenario(root / "scenarios" / f"{name}.toml")
    return scenario, answer_stage(scenario, scenario.stages[index].name, size)


def test_a_plan_has_one_circle_per_can_where_the_pack_has_it(case):
    scenario, answer = case
    drawing = plan_drawing(answer, scenario)
    guides = scenario.stage(answer.stage).guides
    left = guides.centre_mm - guides.narrowest_mm / 2.0
    cans = of_role(drawing, "can")
    assert len(cans) == len(answer.pack)
    places = np.array([c.centre_mm for c in cans])
    np.testing.assert_allclose(places[:, 0] - left, answer.pack.centres_mm[:, 1], atol=1e-9)
    np.testing.assert_allclose(places[:, 1], answer.pack.centres_mm[:, 0], atol=1e-9)
    assert {c.radius_mm for c in cans} == {answer.pack.diameter_mm / 2.0}


def test_plan_dimensions_measure_what_they_say(case):
    scenario, answer = case
    found = {d.text: d.measured_mm for d in of_role(plan_drawing(answer, scenario), "dimension")}
    for text, measured in found.items():
        assert float(text.split()[-1]) == pytest.approx(measured, abs=0.051)
    width = scenario.stage(answer.stage).guides.narrowest_mm
    assert any(name.startswith("clear width") for name in found)
    assert any(measured == pytest.approx(width) for measured in found.values())
    assert any(measured == pytest.approx(scenario.mat.width_mm) for measured in found.values())


def test_slack_beside_the_cans_adds_up_to_the_slack(root):
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    answer = answer_stage(scenario, scenario.stages[2].name, "211 body")
    drawing = plan_drawing(answer, scenario)
    beside = [d.measured_mm for d in of_role(drawing, "dimension") if d.text_at != "middle"]
    assert sum(beside[-2:]) == pytest.approx(answer.pack.slack_mm, abs=1e-9)


def test_nozzles_stand_where_the_header_has_them(root):
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    answer = answer_stage(scenario, scenario.stages[2].name, "211 body")
    drawing = plan_drawing(answer, scenario)
    header = scenario.stages[2].headers[0]
    dots = [c.centre_mm[0] for c in of_role(drawing, "header above") if isinstance(c, Circle)]
    np.testing.assert_allclose(dots, header.positions_mm)
    reach = [c.radius_mm for c in of_role(drawing, "footprint above")]
    height = header.mat_distance_mm - answer.stance.height_mm
    # a cone covers h tan(a/2): plain trigonometry
    assert reach[0] == pytest.approx(height * math.tan(header.nozzle.angle_rad / 2.0))


def test_nothing_of_a_drawing_lies_off_its_sheet(case):
    for draw in (plan_drawing, elevation_drawing):
        drawing = draw(case[1], case[0])
        (x0, y0), (x1, y1) = drawing.low_mm, drawing.high_mm
        for thing in exploded(drawing.primitives):
            if isinstance(thing, Circle):
                points = [
                    (thing.centre_mm[0] + s * thing.radius_mm, thing.centre_mm[1]) for s in (-1, 1)
                ]
            elif isinstance(thing, Stroke):
                points = [thing.start_mm, thing.end_mm]
            elif isinstance(thing, Label):
                points = text_box(thing)
            else:
                points = thing.points_mm
            for x, y in points:
                assert x0 <= x <= x1, thing
                assert y0 <= y <= y1, thing


@pytest.mark.parametrize("given", [{"width_mm": 985.0}, {"width_mm": 990.0, "layout": "crosswise"}])
def test_a_face_near_the_mats_edge_keeps_its_dimension_on_the_sheet(small, given):
    line = small.line(small.stage(**given))
    drawing = plan_drawing(answer_stage(line, line.stages[0].name, line.set_for), line)
    texts = [t for t in exploded(drawing.primitives) if isinstance(t, Label)]
    for text in texts:
        for x, _ in text_box(text):
            assert drawing.low_mm[0] <= x <= drawing.high_mm[0], text
    boxes = [shapely.Polygon(text_box(t)) for t in texts]
    assert shapely.union_all(boxes).area == pytest.approx(sum(box.area for box in boxes))


def text_box(text: Label) -> list[tuple[float, float]]:
    """Corners of a text set in Helvetica's kind: half an em per letter, from memory."""
    wide, tall = 0.5 * text.size_mm * len(text.text), 0.4 * text.size_mm
    start = {"start": 0.0, "middle": -wide / 2.0, "end": -wide}[text.anchor]
    cos, sin = math.cos(text.turn_rad), math.sin(text.turn_rad)
    x, y = text.at_mm
    corners = [(start + a * wide, b * tall) for a, b in ((0, -1), (1, -1), (1, 1), (0, 1))]
    return [(x + u * cos - v * sin, y + u * sin + v * cos) for u, v in corners]


def test_no_two_texts_lie_on_each_other(case):
    for draw in (plan_drawing, elevation_drawing):
        drawing = draw(case[1], case[0])
        flat = exploded(drawing.primitives)
        boxes = [shapely.Polygon(text_box(t)) for t in flat if isinstance(t, Label)]
        names = [t.text for t in flat if isinstance(t, Label)]
        for i, one in enumerate(boxes):
            for j in range(i):
                assert one.intersection(boxes[j]).area < 1e-9, (names[i], names[j])


def test_a_leaning_edge_can_touches_the_wire_that_holds_it(root):
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    answer = answer_stage(scenario, scenario.stages[4].name, "sleek body")
    drawing = elevation_drawing(answer, scenario)
    can = next(p for p in of_role(drawing, "can leaning") if isinstance(p, Polygon))
    wires = [c for c in of_role(drawing, "wire") if isinstance(c, Circle)]
    assert len(wires) == len(answer.wire_heights_mm)
    body = shapely.Polygon(can.points_mm)
    gaps = [body.distance(shapely.Point(w.centre_mm)) - w.radius_mm for w in wires]
    # wires are drawn round with their face on the guide plane; the leaned wall meets that plane at
    # the wire's height, so a round wire is met by less than its radius times the lean
    lean = answer.tipping.loosest.edge_lean_rad
    assert min(gaps) == pytest.approx(0.0, abs=wires[0].radius_mm * lean)
    assert np.argmin(gaps) == len(gaps) - 1
    assert sorted(gaps)[1] > 1.0


def test_an_inside_can_leans_on_its_neighbours_shoulder(root):
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    answer = answer_stage(scenario, scenario.stages[4].name, "sleek body")
    drawing = elevation_drawing(answer, scenario)
    inside = [p for p in of_role(drawing, "can leaning") if isinstance(p, Polygon)][-1]
    behind = [p for p in of_role(drawing, "can behind") if isinstance(p, Polygon)]
    body = shapely.Polygon(inside.points_mm)
    left = [p for p in behind if max(x for x, _ in p.points_mm) < body.centroid.x]
    neighbour = shapely.Polygon(left[-1].points_mm)
    assert body.distance(neighbour) == pytest.approx(0.0, abs=1e-6)
    assert body.intersection(neighbour).area == pytest.approx(0.0, abs=1e-6)


def test_at_the_balance_angle_the_centre_of_gravity_stands_over_the_rim():
    can = can_size("us_12oz_std")
    stance = can.stance(0.4)
    section = CanSection(can, stance.cg_mm, 0.4, 100.0, stance.balance_angle_rad)
    assert section.centre_of_gravity_mm[0] == pytest.approx(100.0, abs=1e-9)
    assert section.centre_of_gravity_mm[1] == pytest.approx(stance.arm_mm)


@pytest.mark.parametrize("share", [0.1, 0.5, 1.0])
def test_the_pool_drawn_holds_the_liquid_of_the_model(share):
    can = can_size("us_12oz_std")
    section = CanSection(can, can.cg_mm, share, 0.0)
    pool = next(p for p in section.body("can") if p.role == "pool")
    half = shapely.Polygon(pool.points_mm).intersection(
        shapely.box(can.diameter_mm / 2.0, 0.0, can.diameter_mm, can.height_mm + 1.0)
    )
    # Pappus: volume of a turned figure is its area times the path of its centroid
    volume = 2.0 * math.pi * (half.centroid.x - can.diameter_mm / 2.0) * half.area
    assert volume == pytest.approx(share * can.dome_volume_mm3, rel=0.01)


@pytest.mark.parametrize("lean", [0.0, 0.1, 0.3])
def test_the_pool_of_a_leaning_can_is_level_and_within_its_recess(lean):
    can = can_size("us_12oz_std")
    section = CanSection(can, can.cg_mm, 1.0, 0.0, lean)
    pool = section.pool
    assert pool[0][1] == pytest.approx(pool[-1][1])  # its surface, from side to side
    low_rim = min(section.recess[0][1], section.recess[-1][1])
    assert pool[0][1] == pytest.approx(low_rim, abs=1e-6)  # a brim-full dome spills to its rim
    assert shapely.Polygon(section.recess).buffer(0.05).contains(shapely.Polygon(pool))


def test_a_can_that_lies_holds_no_pool():
    can = can_size("us_12oz_std")
    assert CanSection(can, can.cg_mm, 1.0, 0.0, math.pi / 2.0).pool == ()


def test_svg_is_well_formed_and_in_millimetres(case):
    drawing = plan_drawing(case[1], case[0])
    tree = parse(drawing_svg(drawing))
    box = [float(part) for part in tree.attrib["viewBox"].split()]
    assert box[2:] == pytest.approx([drawing.width_mm, drawing.height_mm], abs=0.01)
    assert box[1] == pytest.approx(-drawing.high_mm[1], abs=0.01)
    (group,) = [g for g in tree.iter(f"{SVG}g") if g.attrib["class"] == "can"]
    circles = list(group.iter(f"{SVG}circle"))
    assert len(circles) == len(case[1].pack)
    assert float(circles[0].attrib["r"]) == pytest.approx(case[1].pack.diameter_mm / 2.0, abs=0.005)


def test_svg_escapes_names_and_refers_to_nothing(small):
    line = small.line(small.stage(name='<script>alert("x")</script> & co\x07'))
    svg = drawing_svg(plan_drawing(answer_stage(line, line.stages[0].name, line.set_for), line))
    assert "<script" not in svg
    assert "\x07" not in svg
    assert re.findall(r"https?://[^\"]+", svg) == ["http://www.w3.org/2000/svg"]
    assert "href" not in svg
    title = parse(svg).find(f"{SVG}title")
    assert '<script>alert("x")</script> & co ' in title.text


def test_dxf_reads_back_in_millimetres_with_true_circles(case, tmp_path):
    scenario, answer = case
    path = tmp_path / "plan.dxf"
    path.write_bytes(drawing_bytes(plan_drawing(answer, scenario), ".dxf"))
    document = ezdxf.readfile(path)
    assert document.header["$INSUNITS"] == 4
    assert not document.audit().has_errors
    space = document.modelspace()
    cans = space.query('CIRCLE[layer=="CANS"]')
    assert len(cans) == len(answer.pack)
    assert {round(c.dxf.radius * 2.0, 9) for c in cans} == {round(answer.pack.diameter_mm, 9)}
    guides = scenario.stage(answer.stage).guides
    wires = space.query('LWPOLYLINE[layer=="GUIDE_WIRES"]')
    left, right = sorted(sorted({x for x, *_ in wire.get_points()}) for wire in wires)
    assert right[0] - left[1] == pytest.approx(guides.narrowest_mm)
    # round stainless wire of 3 mm is 56.5 g/m, of 4 mm 100.5
    thick = {0.0565: 3.0, 0.1: 4.0}[guides.wires.mass_kg_per_m]
    assert left[1] - left[0] == pytest.approx(thick, abs=0.011)
    shown = {entity.dxf.layer for entity in space}
    assert shown <= {look.layer for look in ROLES.values()}
    names = [t.dxf.text for t in space.query("DIMENSION")]
    assert any(name.startswith("clear width") for name in names)


def test_dxf_of_an_elevation_keeps_its_texts_and_wires(case):
    scenario, answer = case
    document = ezdxf.read(StringIO(drawing_dxf(elevation_drawing(answer, scenario))))
    wires = document.modelspace().query('CIRCLE[layer=="GUIDE_WIRES"]')
    heights = sorted(round(w.dxf.center.y, 6) for w in wires)
    assert heights == [round(z, 6) for z in answer.wire_heights_mm]


def test_a_control_code_in_a_name_stays_text():
    text = Label((0.0, 0.0), "50%%d line", 3.0, "label")
    drawing = Drawing("t", (-1.0, -5.0), (90.0, 5.0), 1.0, (text,))
    (found,) = ezdxf.read(StringIO(drawing_dxf(drawing))).modelspace().query("TEXT")
    assert "%%" not in found.dxf.text


@pytest.mark.parametrize("kind", [".svg", ".dxf", ".png", ".pdf"])
@pytest.mark.parametrize(
    "draw", [plan_drawing, pytest.param(elevation_drawing, marks=pytest.mark.all)]
)
def test_the_same_drawing_gives_the_same_bytes(small, draw, kind):
    line = small.line(small.stage(headers=(small.header(),)))
    answer = answer_stage(line, line.stages[0].name, line.set_for)
    one, again = (drawing_bytes(draw(answer, line), kind) for _ in range(2))
    assert one == again


def test_png_shows_cans_on_paper(case):
    image = Image.open(BytesIO(drawing_png(plan_drawing(case[1], case[0]), dpi=100.0)))
    assert image.width == pytest.approx(180.0 / 25.4 * 100.0, abs=1.0)
    grey = np.asarray(image.convert("L"))
    assert (grey > 250).mean() > 0.2
    assert (grey < 80).mean() > 0.01


def test_png_puts_a_circle_where_it_belongs():
    disc = Circle((30.0, 70.0), 10.0, "centre of gravity")
    drawing = Drawing("t", (0.0, 0.0), (100.0, 100.0), 1.0, (disc,))
    grey = np.asarray(Image.open(BytesIO(drawing_png(drawing, dpi=254.0))).convert("L"))
    rows, columns = np.nonzero(grey < 128)
    per_mm = grey.shape[0] / 100.0
    assert columns.mean() / per_mm == pytest.approx(30.0, abs=0.1)
    assert 100.0 - rows.mean() / per_mm == pytest.approx(70.0, abs=0.1)
    area = len(rows) / per_mm**2
    assert area == pytest.approx(math.pi * 10.1**2, rel=0.02)  # with half its line


def test_a_pack_that_does_not_fit_says_so(small):
    line = small.line(small.stage(width_mm=50.0))
    answer = answer_stage(line, line.stages[0].name, line.set_for)
    for draw in (plan_drawing, elevation_drawing):
        assert drawing_svg(draw(answer, line))
    said = [t.text for t in of_role(plan_drawing(answer, line), "limit")]
    assert said
    assert "does not fit" in said[0]


def test_inches_are_written_as_inches(case):
    drawing = plan_drawing(case[1], case[0], Display("inch"))
    whole = [d for d in of_role(drawing, "dimension") if d.text.startswith("mat")]
    assert float(whole[0].text.split()[-1]) * 25.4 == pytest.approx(
        case[0].mat.width_mm, abs=0.0254
    )


def test_shaded_voids_cover_free_ground_only():
    pack = pack_between(1130.0, 66.0, state="blocks")
    parts = pack_primitives(pack)
    voids = shapely.union_all([shapely.Polygon(p.points_mm) for p in parts if p.role == "void"])
    cans = [shapely.Point(c.centre_mm).buffer(c.radius_mm, 64) for c in parts if c.role == "can"]
    assert voids.area > 0.0
    # voids are drawn with inscribed polygons of eight pieces per quarter: a sliver on each can
    assert voids.intersection(shapely.union_all(cans)).area < 0.03 * voids.area


def test_a_pack_alone_is_drawn_with_all_its_cans():
    pack = pack_between(400.0, 66.0)
    assert len(of_role(pack_drawing(pack), "can")) == len(pack)
    assert drawing_svg(pack_drawing(pack_between(50.0, 66.0)))


def test_a_dimension_comes_apart_into_lines_that_span_it():
    dimension = Dimension((0.0, 0.0), (40.0, 0.0), 5.0, "40.0", 2.5)
    lines = [part for part in exploded((dimension,)) if isinstance(part, Stroke)]
    assert any(math.dist(part.start_mm, part.end_mm) == pytest.approx(40.0) for part in lines)
    (text,) = [part for part in exploded((dimension,)) if isinstance(part, Label)]
    assert text.at_mm[0] == 20.0
    assert text.at_mm[1] > 5.0


def test_bad_drawings_are_refused():
    with pytest.raises(InputError, match="role"):
        Drawing("t", (0.0, 0.0), (1.0, 1.0), 1.0, (Circle((0.0, 0.0), 1.0, "spaceship"),))
    with pytest.raises(InputError, match="more than"):
        Drawing("t", (0.0, 0.0), (0.0, 1.0), 1.0, ())
    with pytest.raises(InputError, match=r"\.svg, \.dxf, \.png"):
        drawing_bytes(pack_drawing(pack_between(400.0, 66.0)), ".gif")


def test_a_drawing_file_is_the_same_in_every_process():
    """Sets have another order in every process; nothing of a file may go by it."""
    script = (
        "import sys; from packsim import pack_between;"
        "from packsim.report.drawings.dxf import drawing_dxf;"
        "from packsim.report.drawings.pack_drawing import pack_drawing;"
        "text = drawing_dxf(pack_drawing(pack_between(200.0, 66.0, length_mm=66.0)));"
        "sys.stdout.buffer.write(text.encode())"
    )
    told = subprocess.run(
        [sys.executable, "-c", script],
        env=os.environ | {"PYTHONHASHSEED": "4"},  # here it is another, of chance
        capture_output=True,
        check=True,
    ).stdout
    assert told.decode() == drawing_dxf(pack_drawing(pack_between(200.0, 66.0, length_mm=66.0)))


def test_two_states_side_by_side_have_one_scale_and_no_words(root):
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    wider = line.with_stages(tuple(one.with_clear_width(1421.0) for one in line.stages))
    pair = [plan_drawing(answer_stage(one, "wash", "sleek body"), one) for one in (line, wider)]
    small = side_by_side(pair, 88.0, 20.0)
    corners = {(one.low_mm, one.high_mm, one.scale) for one in small}
    assert len(corners) == 1
    assert small[0].width_mm / small[0].scale == pytest.approx(88.0)
    assert small[0].height_mm / small[0].scale == pytest.approx(20.0)
    for one, drawn in zip(small, pair, strict=True):
        assert not WORDS & {thing.role for thing in one.primitives}
        cans = [thing for thing in drawn.primitives if thing.role == "can"]
        assert [thing for thing in one.primitives if thing.role == "can"] == cans
    whole = side_by_side(pair, 88.0, 500.0)[0]  # room for all of it: nothing is hidden
    assert whole.high_mm[1] >= max(thing.centre_mm[1] for thing in cans)
