"""Every stage has its card, whole, in windows of any size."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from viewer.line import LoadedLine
from viewer.screen.drawing import Text, Writer
from viewer.session.actions import act
from viewer.views.panels import cards_panel
from viewer.window.paint import FINE, Painter

NAMES = (
    "pre-wash",
    "acid wash",
    "DI rinse",
    "counter-flow rinse",
    "treatment of domes",
    "blow-off",
)
SIZES = [(800, 600), (960, 600), (1024, 768), (1280, 720), (1920, 1080), (3840, 2160)]


@pytest.fixture(scope="module")
def line_of(loaded):
    """Return a line of so many stages, each like the first of the teaching line."""

    def line(count: int) -> LoadedLine:
        scenario = loaded.scenario
        first = scenario.stages[0]
        whole = sum(stage.length_mm for stage in scenario.stages)
        long = max(first.length_mm, whole / count)  # the brackets stay on the line
        stages = tuple(
            replace(first, name=f"{NAMES[i % len(NAMES)]} {i + 1}", length_mm=long)
            for i in range(count)
        )
        return LoadedLine(replace(scenario, stages=stages), loaded.size)

    return line


@pytest.mark.parametrize("count", range(1, 13))
def test_every_stage_has_its_card_and_no_word_is_cut(make_session, line_of, count):
    session = make_session(at=line_of(count))
    for size in SIZES:
        session.resize(*size)
        for stage in (0, count - 1):
            session.stage = stage
            w = Writer(session.layout.scale)
            cards_panel(session, w)
            cards = [hit.box for hit in w.drawing.hits]
            assert [hit.argument for hit in w.drawing.hits] == list(range(count)), size
            painter, room = Painter(session.layout.scale), session.layout.cards
            for i, card in enumerate(cards):
                assert room.x <= card.x < card.right <= room.right, size
                assert room.y <= card.y < card.bottom <= room.bottom, size
                others = cards[i + 1 :]
                assert all(
                    card.right <= o.x or card.bottom <= o.y or o.bottom <= card.y for o in others
                )
                within = [t for t in w.drawing.texts if card.holds(t.box.x, t.box.y)]
                said = " ".join(t.text for t in within)
                assert said.startswith(f"{NAMES[i % len(NAMES)]} {i + 1} "), size
                for text in within:
                    _is_whole(painter, text)
                for one, other in pairwise(within):
                    assert one.box.bottom <= other.box.y or one.box.right <= other.box.x


def _is_whole(painter: Painter, text: Text) -> None:
    wide, tall = (-(-px // FINE) for px in painter.font(text.size).size(text.text))
    assert wide <= text.box.w, text
    assert 0.8 * tall <= text.box.h, text


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_plan_keeps_room_beside_many_cards(make_session, line_of, size):
    session = make_session(size, at=line_of(12))
    assert all(box.h >= session.layout.px(40) for box in (view.view for view in session.views))
    act(session, "beside")
    assert len(session.views) == 2
    assert all(view.view.h >= session.layout.px(14) for view in session.views)
