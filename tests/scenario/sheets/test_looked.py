"""What a photograph says goes into the scenario it was taken for, with its errors; no more."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from difflib import ndiff
from pathlib import Path

import pytest

from packsim.doubt import doubt
from packsim.errors import InputError
from packsim.look.known import Known
from packsim.look.measure import Looked, measure_pack
from packsim.pack.state import pack_between
from packsim.scenario.load import load_scenario, parse_scenario
from packsim.scenario.sheets.looked import load_looked
from packsim.why import reasons
from tests.look.known_packs import seen_of

ROOT = Path(__file__).resolve().parents[3]
SWING = ROOT / "scenarios" / "swing_line.toml"
IMPERIAL = ROOT / "scenarios" / "imperial_line.toml"


def looked(width: float = 1391.4, layout: str = "lengthwise", fill: float = 0.985) -> Looked:
    pack = pack_between(width, 66.09, layout, 1200.0, fill, state="slack", lie="left")
    return measure_pack(seen_of(pack, 0.1, scale_error=2e-4), diameter_within_mm=0.05)


@pytest.fixture(scope="module")
def one() -> Looked:
    return looked()


def ranges(text: str) -> dict[str, tuple[str, float, float]]:
    return {each.key: (each.kind, each.low, each.high) for each in parse_scenario(text).ranges}


def test_what_was_seen_at_the_infeed_is_measured_with_its_errors_from_then_on(one: Looked) -> None:
    found = load_looked(SWING, one)
    stage = found.scenario.stages[0]
    assert one.clear_width_mm is not None
    assert one.fill is not None
    assert stage.guides.narrowest_mm == pytest.approx(one.clear_width_mm.value, abs=0.06)
    assert {each.layout for each in found.scenario.stages} == {"lengthwise"}
    assert all(abs(each.fill - one.fill.value) < 1e-3 for each in found.scenario.stages)
    assert found.scenario.mat.pack_enters == pytest.approx(0.0, abs=0.02)
    now = ranges(found.text)
    kind, low, high = now["stages[0].clear_width"]
    assert kind == "measured"
    assert (high - low) / 2.0 == pytest.approx(one.clear_width_mm.within, rel=0.1)
    assert now["stages[0].slack_gathered"][0] == now["mat.pack_enters"][0] == "measured"
    assert all(now[f"stages[{k}].pack_fill"][0] == "measured" for k in range(8))


def test_comments_and_all_else_stay_and_a_stage_that_is_like_another_keeps_what_it_had(
    one: Looked,
) -> None:
    found, before = load_looked(SWING, one), SWING.read_text(encoding="utf-8")
    differing = ndiff(before.splitlines(), found.text.splitlines())
    gone = [line[2:].partition(" =")[0] for line in differing if line.startswith("- ")]
    assert gone == ["pack_fill", "clear_width"]
    old = load_scenario(SWING)
    for was, now in zip(old.stages[1:], found.scenario.stages[1:], strict=True):
        assert now.guides.narrowest_mm == was.guides.narrowest_mm, now.name


def test_at_a_named_stage_only_that_stage_is_told(one: Looked) -> None:
    found, old = load_looked(SWING, one, "wash"), load_scenario(SWING)
    touched = {change.key.partition("]")[0] for change in found.changes}
    assert touched == {"stages[2"}
    assert found.scenario.mat == old.mat
    others = [k for k in range(8) if k != 2]
    assert all(found.scenario.stages[k].fill == old.stages[k].fill for k in others)


def test_doubts_shrink_by_what_was_seen(one: Looked) -> None:
    found = load_looked(IMPERIAL, looked(1127.0))
    stage = found.scenario.stages[0].name
    size = found.scenario.sizes[0].name
    before = doubt(load_scenario(IMPERIAL), (size,), (stage,)).places[0]
    after = doubt(found.scenario, (size,), (stage,)).places[0]
    assert after.confidence.share > before.confidence.share


def test_a_file_in_inches_gets_inches(one: Looked) -> None:
    text = load_looked(IMPERIAL, looked(1127.0)).text
    width = tomllib.loads(text)["stages"][0]["clear_width"]
    assert width.endswith(" in")
    assert width.startswith("44.3")
    assert parse_scenario(text).stages[0].guides.narrowest_mm == pytest.approx(1127.0, abs=0.5)


def test_what_the_file_knows_better_stays(tmp_path: Path, one: Looked) -> None:
    place = tmp_path / "line.toml"
    text = SWING.read_text(encoding="utf-8")
    place.write_text(text.replace('"1390.5 mm"', '"1390.5 mm ± 0.2 mm"', 1), encoding="utf-8")
    found = load_looked(place, one)
    assert "stages[0].clear_width" in found.same
    assert 'clear_width = "1390.5 mm ± 0.2 mm"' in found.text


def test_readings_that_the_file_had_are_told_in_short(tmp_path: Path, one: Looked) -> None:
    line = tmp_path / "line.toml"
    text, old = SWING.read_text("utf-8"), "pack_fill = 0.99"
    assert text.count(old) == 1
    line.write_text(text.replace(old, "pack_fill = [0.90, 0.99, 0.95, 0.97, 0.93]"), "utf-8")
    (fill,) = (each for each in load_looked(line, one).changes if "pack_fill" in each.key)
    assert fill.before == "0.9, 0.99 ... 0.93"


def test_said_once_more_nothing_changes(tmp_path: Path, one: Looked) -> None:
    place = tmp_path / "line.toml"
    place.write_text(load_looked(SWING, one).text, encoding="utf-8")
    again = load_looked(place, one)
    assert again.changes == ()
    assert again.text == place.read_text(encoding="utf-8")


def test_a_stage_that_lists_its_brackets_keeps_them(tmp_path: Path, one: Looked) -> None:
    rows = ", ".join(
        f'{{ from_stage_start = "{at} mm", left = "104.75 mm", right = "1495.25 mm" }}'
        for at in (0, 1200)
    )
    text = SWING.read_text(encoding="utf-8")
    place = tmp_path / "line.toml"
    listed = text.replace('clear_width = "1390.5 mm"', f"brackets = [{rows}]", 1)
    place.write_text(listed, encoding="utf-8")
    found = load_looked(place, one)
    assert rows in found.text
    assert "stages[0].clear_width" not in {change.key for change in found.changes}
    assert [note for note in found.unlikely if "brackets" in note]


@pytest.mark.parametrize(
    ("value", "within"), [(1.0, 0.004), (0.9995, 0.02), (0.0, 0.03), (0.51, 0.2), (1.0, 0.0)]
)
def test_shares_stay_shares_with_their_error(one: Looked, value: float, within: float) -> None:
    known = Known(value, within)
    told = replace(one, enters=known)
    low, high = ranges(load_looked(SWING, told).text)["mat.pack_enters"][1:]
    assert 0.0 <= low <= high <= 1.0
    assert low <= min(value, 0.9995) + 1e-9
    assert high >= max(value, 0.0005) - 1e-9


def test_an_unknown_stage_is_refused(one: Looked) -> None:
    with pytest.raises(InputError, match="stage: got 'attic'; needs one of pre-rinse"):
        load_looked(SWING, one, "attic")


def test_why_tells_a_row_as_it_was_seen_between_its_bounds(one: Looked) -> None:
    found = load_looked(SWING, one, "wash")
    row = reasons(found.scenario, "wash", "sleek body").energies
    assert row is not None
    seen = row.row_seen_per_million
    assert seen is not None
    assert row.row_random_per_million < seen < row.row_gathered_per_million
    plain = reasons(load_scenario(SWING), "wash", "sleek body").energies
    assert plain is not None
    assert plain.row_seen_per_million is None


@pytest.mark.parametrize(
    "name", ["a\nseed = 7\n.jpg", "/somewhere/else/mat.jpg", "\x1b[31m.jpg", "#"]
)
def test_a_photograph_of_any_name_stands_in_a_remark_and_nothing_else(
    one: Looked, name: str
) -> None:
    found = load_looked(SWING, replace(one, seen=replace(one.seen, photo=name)))
    assert found.scenario.seed == load_scenario(SWING).seed
    (line,) = (each for each in found.text.splitlines() if each.startswith("slack_gathered"))
    assert line.partition("# from ")[2].isprintable()
    assert "somewhere" not in found.text
