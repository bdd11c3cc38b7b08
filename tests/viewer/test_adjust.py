"""The dials: what each changes, its limits, and what is saved."""

from __future__ import annotations

from dataclasses import replace

import pytest

from packsim.errors import InputError
from packsim.report.words.display import Display
from packsim.scenario.load import load_scenario, parse_scenario
from packsim.scenario.write import scenario_to_toml
from viewer.line import LoadedLine
from viewer.session.adjust import DIALS, step_mm, turned
from viewer.session.changes import free_name, save_line

BY_NAME = {dial.name: dial for dial in DIALS}


@pytest.mark.parametrize("dial", DIALS, ids=lambda dial: dial.name)
def test_a_step_changes_what_is_shown_and_a_step_back_undoes_it(loaded, dial):
    up = turned(loaded, dial, -2, (0,))
    assert dial.shown(Display(), up, 0, 0) != dial.shown(Display(), loaded, 0, 0) or dial.name in (
        "rows",
        "can size",
    )
    back = turned(up, dial, 2, (0,))
    assert dial.shown(Display(), back, 0, 0) == dial.shown(Display(), loaded, 0, 0)


ROUND_IN_INCHES = {
    "clear width": (lambda s: s.stages[0].guides.narrowest_mm, 1 / 32),
    "wire height": (lambda s: s.stages[0].guides.wires.heights_mm[0], 1 / 32),
    "header place": (lambda s: s.stages[0].headers[0].first_mm, 1 / 32),
    "nozzle pitch": (lambda s: s.stages[0].headers[0].pitch_mm, 0.005),
    "mat speed": (lambda s: s.mat.speed_mm_per_s * 5.0, 0.5),  # ft/min: 60 / 12
}


@pytest.mark.parametrize("name", ROUND_IN_INCHES)
def test_in_inches_a_step_is_round_in_inches(loaded, name):
    value, inches = ROUND_IN_INCHES[name]
    up = turned(loaded, BY_NAME[name], 3, (0,), display=Display("inch"))
    moved = (value(up.scenario) - value(loaded.scenario)) / 25.4
    assert moved == pytest.approx(3 * inches)


def test_in_inches_a_guide_goes_by_marks_of_the_rule_or_its_own_holes(loaded):
    """The line's brackets have a step in millimetres: no rule in inches shows it."""
    stage = loaded.scenario.stages[0]
    assert step_mm(BY_NAME["shift"], stage, 0, Display()) == stage.guides.setting_step_mm
    assert step_mm(BY_NAME["shift"], stage, 0, Display("inch")) == pytest.approx(25.4 / 32)
    holes = replace(stage, guides=replace(stage.guides, setting_step_mm=25.4 / 8))
    assert step_mm(BY_NAME["shift"], holes, 0, Display("inch")) == pytest.approx(25.4 / 8)


def test_clear_width_keeps_the_middle_and_the_other_stages(loaded):
    wider = turned(loaded, BY_NAME["clear width"], 20, (0,))
    old, new = loaded.scenario.stages, wider.scenario.stages
    assert new[0].guides.narrowest_mm == pytest.approx(old[0].guides.narrowest_mm + 10.0)
    assert new[0].guides.centre_mm == pytest.approx(old[0].guides.centre_mm)
    assert new[1] == old[1]


def test_shift_keeps_the_width(loaded):
    moved = turned(loaded, BY_NAME["shift"], 20, (0, 1))
    for old, new in zip(loaded.scenario.stages, moved.scenario.stages, strict=True):
        assert new.guides.narrowest_mm == pytest.approx(old.guides.narrowest_mm)
        assert new.guides.centre_mm == pytest.approx(old.guides.centre_mm + 10.0)


def test_one_wire_at_a_time(loaded):
    up = turned(loaded, BY_NAME["wire height"], 4, (0,), part=2)
    assert up.scenario.stages[0].guides.wires.heights_mm == (30.0, 65.0, 97.0)


def test_pitch_keeps_the_headers_middle(loaded):
    wider = turned(loaded, BY_NAME["nozzle pitch"], 10, (0,))
    old = loaded.scenario.stages[0].headers[0].positions_mm
    new = wider.scenario.stages[0].headers[0].positions_mm
    assert new.mean() == pytest.approx(old.mean())
    assert new[1] - new[0] == pytest.approx(old[1] - old[0] + 1.0)


def test_size_goes_round(loaded):
    seen = [loaded]
    for _ in loaded.scenario.sizes:
        seen.append(turned(seen[-1], BY_NAME["can size"], 1, (0,)))
    names = [can.name for can in loaded.scenario.sizes]
    assert [line.size for line in seen] == [*names, names[0]]


@pytest.mark.parametrize(
    ("name", "steps"),
    [("clear width", 4000), ("clear width", -4000), ("shift", 4000), ("wire height", 500),
     ("wire height", -500), ("fill", -400), ("mat speed", -400), ("nozzle pitch", -4000)],
)  # fmt: skip
def test_out_of_range_is_refused(loaded, name, steps):
    with pytest.raises(InputError):
        turned(loaded, BY_NAME[name], steps, (0,))


def test_a_value_set_by_hand_is_no_longer_called_an_assumption(loaded, root):
    scenario = load_scenario(root / "scenarios" / "first_look.toml")
    start = LoadedLine(scenario, scenario.set_for)
    keys = [entry.key for entry in scenario.assumed]
    assert "stages[0].pack_fill" in keys
    less = turned(start, BY_NAME["fill"], -4, (0,))
    assert "stages[0].pack_fill" not in [entry.key for entry in less.scenario.assumed]
    harder = turned(start, BY_NAME["kick energy"], 3, (0,))
    entry = next(e for e in harder.scenario.assumed if e.key == "stages[0].kicks.energy")
    assert entry.value == f"{harder.scenario.stages[0].kicks.energy_mJ:g} mJ"


def test_what_is_saved_reads_back(loaded, tmp_path):
    for dial in DIALS:
        loaded = turned(loaded, dial, -1, (0,), 1)
    first = save_line(loaded, tmp_path, "line")
    read = load_scenario(first)
    assert read.stages == loaded.scenario.stages
    assert read.mat == loaded.scenario.mat
    assert read.assumed == loaded.scenario.assumed
    assert parse_scenario(scenario_to_toml(read)) == read


def test_saving_never_overwrites(loaded, tmp_path):
    first = save_line(loaded, tmp_path, "line")
    before = first.read_bytes()
    second = save_line(turned(loaded, DIALS[0], 1, (0,)), tmp_path, "line")
    assert first != second
    assert first.read_bytes() == before
    assert free_name(tmp_path, "line-changed", ".toml").name == "line-changed-3.toml"
