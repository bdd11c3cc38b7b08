"""Charts: parts that must be there, names as given, the same bytes twice, no global state."""

from __future__ import annotations

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text
from PIL import Image

from packsim.errors import InputError
from packsim.report.charts.chart_data import Bar, Mark, Range, Series, Sheet, WindowRow
from packsim.report.charts.chart_frame import chart_png, chart_svg
from packsim.report.charts.chart_labels import spread_apart
from packsim.report.charts.charts import bar_chart, line_chart, window_chart
from packsim.report.palette import DASHES, LINES, MARKERS

X = np.linspace(1370.0, 1400.0, 31)
SVG = "{http://www.w3.org/2000/svg}"


def parse(svg: str) -> ET.Element:
    """Read what our own writers wrote."""
    return ET.fromstring(svg)  # noqa: S314 - our own output, not a stranger's


def two_lines():
    return line_chart(
        [
            Series("at the guide", X, (X - 1370.0) / 20.0),
            Series("inside the pack", X, (X - 1371.0) / 25.0),
        ],
        Sheet("Can a can tip?", "line: size, stage", "clear width, mm", "tip index"),
        ranges=[Range(1383.0, 1389.0, "guide window")],
        marks=[Mark(1391.0, "set now")],
    )


def texts(svg: str) -> list[str]:
    return ["".join(node.itertext()) for node in parse(svg).iter(f"{SVG}text")]


def test_labels_stand_in_the_chart_as_text():
    assert {
        "at the guide",
        "inside the pack",
        "clear width, mm",
        "tip index",
        "guide window",
        "set now",
        "Can a can tip?",
        "line: size, stage",
    } <= set(texts(chart_svg(two_lines())))


def test_the_same_chart_gives_the_same_bytes():
    assert chart_svg(two_lines()) == chart_svg(two_lines())
    assert chart_png(two_lines()) == chart_png(two_lines())


def test_writing_twice_changes_nothing():
    figure = two_lines()
    assert chart_svg(figure) == chart_svg(figure)
    before = chart_svg(figure)
    chart_png(figure, 90.0)
    assert chart_svg(figure) == before


def test_svg_refers_to_nothing_outside_and_says_no_date():
    svg = chart_svg(two_lines())
    assert re.findall(r"https?://[^\"]+", svg) == ["http://www.w3.org/2000/svg"]
    assert "<metadata" not in svg
    assert "<style" not in svg
    targets = set(re.findall(r'(?:href="|url\()#([^")]+)', svg))
    assert targets
    assert targets <= set(re.findall(r' id="([^"]+)"', svg))


def test_names_inside_two_charts_do_not_meet():
    one = chart_svg(two_lines())
    other = chart_svg(line_chart([Series("b", [0.0, 1.0], [2.0, 3.0])], Sheet("cans")))
    names = [set(re.findall(r' id="([^"]+)"', svg)) for svg in (one, other)]
    assert not names[0] & names[1]


def test_the_same_chart_in_two_places_of_a_page_keeps_its_names_apart():
    names = [
        set(re.findall(r' id="([^"]+)"', chart_svg(two_lines(), place)))
        for place in ("first", "second")
    ]
    assert names[0]
    assert not names[0] & names[1]


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "$x^2$", "a & b", '"quoted"'])
def test_names_come_out_as_they_went_in(name):
    figure = line_chart([Series(name, [0.0, 1.0], [0.0, 1.0])], Sheet(name, "", name, name))
    svg = chart_svg(figure)
    assert "<script>" not in svg
    assert texts(svg).count(name) == 4


def test_png_has_the_size_asked_for():
    image = Image.open(
        BytesIO(chart_png(line_chart([Series("", [0, 1], [0, 1])], Sheet(height_mm=85.0)), 200))
    )
    assert image.size == (round(165.0 / 25.4 * 200 - 0.5), round(85.0 / 25.4 * 200 - 0.5))


def test_a_value_that_is_not_finite_breaks_the_line():
    y = np.where(X > 1385.0, np.inf, 0.5)
    svg = chart_svg(line_chart([Series("held", X, y)], Sheet()))
    assert "inf" not in svg
    assert "nan" not in svg


def test_a_name_stands_where_its_line_is_last_in_sight():
    figure = line_chart(
        [Series("steep", [0.0, 1.0, 2.0, 3.0], [0.0, 1.0, 2.0, 30.0])],
        Sheet(),
        y_limits=(0.0, 2.5),
    )
    (note,) = [t for t in figure.axes[0].texts if t.get_text() == "steep"]
    assert tuple(note.xy) == (2.0, 2.0)


def test_a_logarithmic_axis_leaves_out_what_it_cannot_show():
    figure = line_chart([Series("rate", [0, 1, 2], [0.0, 10.0, 100.0])], Sheet(), log_y=True)
    assert figure.axes[0].get_yscale() == "log"
    assert texts(chart_svg(figure)).count("rate") == 1


def test_a_logarithmic_axis_speaks_plain_numbers():
    figure = line_chart([Series("", [1.0, 2.0], [0.05, 20_000.0])], Sheet(), log_y=True)
    figure.canvas.draw()
    shown = {label.get_text() for label in figure.axes[0].get_yticklabels()}
    assert {"0.1", "1", "1,000", "10,000"} <= shown


def test_lines_differ_by_more_than_colour():
    looks = list(zip(LINES, DASHES, MARKERS, strict=True))
    assert len({dash for _, dash, _ in looks}) == len({m for _, _, m in looks}) == len(looks)


def luminance(colour: str) -> float:
    """Relative luminance of the WCAG 2 definition, from memory."""
    parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


def test_text_colours_stand_out_on_paper():
    from packsim.report.palette import ACCENT, INK, QUIET

    # contrast 4.5:1 is the accessibility guideline for body text, from memory
    for colour in (INK, QUIET, ACCENT):
        assert 1.05 / (luminance(colour) + 0.05) > 4.5


def test_bars_keep_their_ends():
    figure = bar_chart([Bar("can tolerance", -3.1, 3.1, "±3.1"), Bar("wear", 0.2, 0.2)], Sheet())
    spans = sorted((p.get_x(), p.get_x() + p.get_width()) for p in figure.axes[0].patches)
    assert spans[:2] == [(-3.1, 0.0), (0.0, 3.1)]
    assert texts(chart_svg(figure)).count("±3.1") == 1


def test_an_empty_window_is_drawn_crossed():
    rows = [
        WindowRow("wash", 1387.0, 1389.0, 1391.0, 1388.0, "1387 – 1389"),
        WindowRow("rinse", 1390.0, 1386.0, 1391.0, None, "empty"),
    ]
    figure = window_chart(rows, Sheet(x_label="clear width, mm"))
    good, empty = figure.axes[0].patches
    assert (good.get_x(), good.get_width()) == (1387.0, 2.0)
    assert (empty.get_x(), empty.get_width()) == (1386.0, 4.0)
    assert empty.get_hatch()
    assert not good.get_hatch()
    assert {"wash", "rinse", "empty"} <= set(texts(chart_svg(figure)))


def triangles(figure, marker):
    return [p for at in figure.axes[0].lines if at.get_marker() == marker for p in at.get_xydata()]


def test_values_beyond_the_axis_are_marked_at_its_end():
    over = Series("index", [1.0, 2.0, 3.0], [0.5, 4.0, np.inf])
    figure = line_chart([over], Sheet(), y_limits=(0.0, 2.0))
    assert np.array(triangles(figure, "^")).tolist() == [[2.0, 2.0], [3.0, 2.0]]
    rare = Series("rate", [1.0, 2.0, 3.0], [0.0, 1e-9, 5.0])
    figure = line_chart([rare], Sheet(), y_limits=(1e-4, 10.0), log_y=True)
    assert np.array(triangles(figure, "v")).tolist() == [[1.0, 1e-4], [2.0, 1e-4]]


@pytest.mark.parametrize("series", [[], [Series("a", [0.0, 1.0], [np.nan, np.nan])]])
def test_a_chart_without_a_value_says_so(series):
    assert "no value to draw" in texts(chart_svg(line_chart(series, Sheet("Why?"))))


def test_the_point_of_an_interval_is_drawn():
    figure = bar_chart([Bar("all", 1.0, 5.0, "3 of 100", point=2.0)], Sheet())
    (point,) = [at for at in figure.axes[0].lines if at.get_marker() == "D"]
    assert point.get_xydata().tolist() == [[2.0, 0.0]]


def test_a_typeface_is_a_generic_family():
    svg = chart_svg(two_lines())
    assert "sans-serif" in svg
    assert "'" not in svg


def test_bad_charts_are_refused():
    with pytest.raises(InputError, match="as many numbers as x"):
        Series("a", [0.0, 1.0], [0.0])
    with pytest.raises(InputError, match="both or neither"):
        Series("a", [0.0], [0.0], low=[0.0])
    with pytest.raises(InputError, match="at least 2"):
        Range(2.0, 1.0)
    with pytest.raises(InputError, match="at least one bar"):
        bar_chart([], Sheet())
    with pytest.raises(InputError, match="at least one row"):
        window_chart([], Sheet())
    with pytest.raises(InputError, match="dpi"):
        chart_png(two_lines(), 5.0)


@given(
    st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8),
    st.floats(0.001, 0.1),
)
def test_labels_spread_apart_keep_order_and_distance(wanted, gap):
    found = spread_apart(wanted, gap, 0.0, 1.0)
    placed = sorted(found)
    assert all(b - a > gap - 1e-9 for a, b in pairwise(placed))
    assert min(found) > -1e-9
    assert max(found) < 1.0 + 1e-9
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    assert [found[i] for i in order] == placed


def test_charts_load_matplotlib_late_and_leave_its_settings_alone():
    code = (
        "import sys; import packsim.report.charts.charts as c;"
        "import packsim.report.charts.chart_frame as f;"
        "assert 'matplotlib' not in sys.modules;"
        "import matplotlib as m; keys = [k for k in m.rcParams if k != 'backend'];"
        "before = [m.rcParams[k] for k in keys];"
        "f.chart_svg(c.line_chart([c.Series('a', [0, 1], [0, 1])], c.Sheet()));"
        "assert [m.rcParams[k] for k in keys] == before;"
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.parametrize(
    "ends", [(2.0, 1.75, 1.25, 1.0), (5.0, 5.0, 5.0, 5.0), (0.1, 0.0, 9.0, 9.1)]
)
def test_no_leader_line_crosses_a_name(ends):
    names = [f"a can of some size, place {k}" for k in range(len(ends))]
    series = [Series(name, [0.0, 1.0], [5.0, end]) for name, end in zip(names, ends, strict=True)]
    figure = line_chart(series, Sheet("How much?", "", "x", "y"), y_limits=(0.0, 10.0))
    FigureCanvasAgg(figure).draw()
    named = [text for text in figure.axes[0].texts if text.get_text() in names]
    assert len(named) == len(names)
    boxes = [shapely.box(*Text.get_window_extent(text).extents) for text in named]
    for text in named:
        patch = text.arrow_patch
        leader = shapely.LineString(patch.get_transform().transform_path(patch.get_path()).vertices)
        assert leader.length > 0.0
        for box in boxes:
            assert shapely.intersection(leader, box).length < 1e-6
