"""The knobs: what each changes, its limits, and what is saved."""

from __future__ import annotations

import pytest

from packsim.errors import InputError
from packsim.scenario.load import load_scenario, parse_scenario
from packsim.scenario.write import scenario_to_toml
from viewer.session.adjust import KNOBS, Setting, turned
from viewer.session.save import free_name, save_setting

BY_NAME = {knob.name: knob for knob in KNOBS}


@pytest.mark.parametrize("knob", KNOBS, ids=lambda knob: knob.name)
def test_a_step_changes_what_is_shown_and_a_step_back_undoes_it(setting, knob):
    up = turned(setting, knob, -2, (0,))
    assert knob.shown(up, 0, 0) != knob.shown(setting, 0, 0) or knob.name in ("layout", "can size")
    back = turned(up, knob, 2, (0,))
    assert knob.shown(back, 0, 0) == knob.shown(setting, 0, 0)


def test_clear_width_keeps_the_middle_and_the_other_stages(setting):
    wider = turned(setting, BY_NAME["clear width"], 20, (0,))
    old, new = setting.scenario.stages, wider.scenario.stages
    assert new[0].guides.narrowest_mm == pytest.approx(old[0].guides.narrowest_mm + 10.0)
    assert new[0].guides.centre_mm == pytest.approx(old[0].guides.centre_mm)
    assert new[1] == old[1]


def test_shift_keeps_the_width(setting):
    moved = turned(setting, BY_NAME["shift"], 20, (0, 1))
    for old, new in zip(setting.scenario.stages, moved.scenario.stages, strict=True):
        assert new.guides.narrowest_mm == pytest.approx(old.guides.narrowest_mm)
        assert new.guides.centre_mm == pytest.approx(old.guides.centre_mm + 10.0)


def test_one_wire_at_a_time(setting):
    up = turned(setting, BY_NAME["wire height"], 4, (0,), wire=2)
    assert up.scenario.stages[0].guides.wires.heights_mm == (30.0, 65.0, 97.0)


def test_pitch_keeps_the_headers_middle(setting):
    wider = turned(setting, BY_NAME["nozzle pitch"], 10, (0,))
    old = setting.scenario.stages[0].headers[0].positions_mm
    new = wider.scenario.stages[0].headers[0].positions_mm
    assert new.mean() == pytest.approx(old.mean())
    assert new[1] - new[0] == pytest.approx(old[1] - old[0] + 1.0)


def test_size_goes_round(setting):
    other = turned(setting, BY_NAME["can size"], 1, (0,))
    assert other.size == "sleek body"
    assert turned(other, BY_NAME["can size"], 1, (0,)).size == setting.size


@pytest.mark.parametrize(
    ("name", "steps"),
    [("clear width", 4000), ("clear width", -4000), ("shift", 4000), ("wire height", 500),
     ("wire height", -500), ("fill", -400), ("mat speed", -400), ("nozzle pitch", -4000)],
)  # fmt: skip
def test_out_of_range_is_refused(setting, name, steps):
    with pytest.raises(InputError):
        turned(setting, BY_NAME[name], steps, (0,))


def test_a_value_set_by_hand_is_no_longer_called_an_assumption(setting, root):
    scenario = load_scenario(root / "scenarios" / "first_look.toml")
    start = Setting(scenario, scenario.set_for)
    keys = [entry.key for entry in scenario.assumed]
    assert "stages[0].fill" in keys
    less = turned(start, BY_NAME["fill"], -4, (0,))
    assert "stages[0].fill" not in [entry.key for entry in less.scenario.assumed]
    harder = turned(start, BY_NAME["kick energy"], 3, (0,))
    entry = next(e for e in harder.scenario.assumed if e.key == "stages[0].kicks.energy")
    assert entry.value == f"{harder.scenario.stages[0].kicks.energy_mJ:g} mJ"


def test_what_is_saved_reads_back(setting, tmp_path):
    for knob in KNOBS:
        setting = turned(setting, knob, -1, (0,), 1)
    first = save_setting(setting, tmp_path, "line")
    read = load_scenario(first)
    assert read.stages == setting.scenario.stages
    assert read.mat == setting.scenario.mat
    assert read.assumed == setting.scenario.assumed
    assert parse_scenario(scenario_to_toml(read)) == read


def test_saving_never_overwrites(setting, tmp_path):
    first = save_setting(setting, tmp_path, "line")
    before = first.read_bytes()
    second = save_setting(turned(setting, KNOBS[0], 1, (0,)), tmp_path, "line")
    assert first != second
    assert first.read_bytes() == before
    assert free_name(tmp_path, "line-changed", ".toml").name == "line-changed-3.toml"
