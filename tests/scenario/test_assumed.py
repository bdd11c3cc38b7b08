"""What a file leaves out is on record; what a trial gave is not; fitted kicks can be included."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml

FITTED = '[kicks.flood]\nenergy = "0.08 mJ"\ntrial = "week 12, flood"\n'


def keys(scenario: Scenario) -> set[str]:
    return {entry.key for entry in scenario.assumed}


def test_every_default_is_on_record(small: str) -> None:
    scenario = parse_scenario(small)
    assert keys(scenario) == {
        "safety_factor",
        *(f"mat.{key}" for key in ("open_area", "friction", "mass_per_area", "specific_heat")),
        "mat.pack_enters",
        "stages[0].tipped",
        "stages[0].kicks.under_headers",
        *(f"guides.wire_{key}" for key in ("mass", "stiffness", "expansion")),
        "guides.setting_temperature",
        "guides.smallest_bracket_step",
        *(
            f"guides.{key}"
            for key in (
                "wire_ends_fixed",
                "bracket_spacing",
                "guide_wear_each_side",
                "frame_expansion",
            )
        ),
        *(
            f"stages[0].{key}"
            for key in ("pack_centre_from_left", "rows", "pack_fill", "water_in_dome", "side_load")
        ),
        *(
            f"stages[0].kicks.{key}"
            for key in ("energy", "kicks_per_second", "sideways_step_rms", "drift_to_right")
        ),
        *(f"headers.{key}" for key in ("density", "velocity_coefficient")),
    }
    assert all(entry.value and entry.why for entry in scenario.assumed)
    assert scenario.mat.width_mm == 700.0
    assert scenario.stages[0].kicks.energy_mJ == 0.05


def test_a_value_given_is_not_assumed(small: str) -> None:
    text = small.replace("[mat]\n", "[mat]\nfriction = 0.7\n").replace(
        "[guides]\n", "[guides]\nguide_wear_each_side = 0\n"
    )
    gone = keys(parse_scenario(small)) - keys(parse_scenario(text))
    assert gone == {"mat.friction", "guides.guide_wear_each_side"}


def test_a_fan_has_a_thin_side_to_assume_and_a_cone_has_not(small: str) -> None:
    fan = parse_scenario(small.replace('pattern = "cone"', 'pattern = "fan"'))
    assert keys(fan) - keys(parse_scenario(small)) == {"headers.fan_thickness_angle"}


def test_a_stage_overrides_the_line(small: str) -> None:
    text = small.replace(
        "[stages.kicks]", '[stages.guides]\ntension = "800 N"\nwire_heights = [40]\n[stages.kicks]'
    )
    wires = parse_scenario(text).stages[0].guides.wires
    assert (wires.tension_N, wires.heights_mm) == (800.0, (40.0,))


@pytest.mark.parametrize(
    ("given", "share"),
    [('"left"', 0.0), ('"centre"', 0.5), ('"right"', 1.0), ("0.3", 0.3), ('"30 %"', 0.3)],
)
def test_where_the_pack_enters_is_a_word_or_a_share(small: str, given: str, share: float) -> None:
    text = small.replace("[mat]\n", f"[mat]\npack_enters = {given}\n")
    scenario = parse_scenario(text)
    assert scenario.mat.pack_enters == share
    assert "mat.pack_enters" not in keys(scenario)
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


def test_where_the_pack_enters_is_the_middle_while_nobody_says(small: str) -> None:
    (entry,) = [one for one in parse_scenario(small).assumed if one.key == "mat.pack_enters"]
    assert (entry.value, parse_scenario(small).mat.pack_enters) == ("centre", 0.5)
    wrong = small.replace("[mat]\n", '[mat]\npack_enters = "middle"\n')
    with pytest.raises(InputError, match='pack_enters: got middle; needs one of "left"'):
        parse_scenario(wrong)


def test_a_stage_without_headers_gets_no_share_of_kicks_under_them(small: str) -> None:
    dry = small[: small.index("[[stages.headers]]")]
    assert "stages[0].kicks.under_headers" not in keys(parse_scenario(dry))
    given = small.replace("[stages.kicks]\n", '[stages.kicks]\nunder_headers = "70 %"\n')
    assert parse_scenario(given).stages[0].kicks.under_headers == 0.7
    assert keys(parse_scenario(small)) - keys(parse_scenario(given)) == {
        "stages[0].kicks.under_headers"
    }


@pytest.mark.parametrize("what", ["leans", "leaves a hole", "lies across"])
def test_what_a_tipped_can_does_is_a_choice_of_the_stage(small: str, what: str) -> None:
    scenario = parse_scenario(small.replace('"588 mm"', f'"588 mm"\ntipped = "{what}"'))
    assert scenario.stages[0].tipped == what
    assert "stages[0].tipped" not in keys(scenario)
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


@pytest.mark.parametrize("given", ["energy", "kicks_per_second"])
def test_a_trial_covers_what_is_given_with_it(small: str, given: str) -> None:
    other = {"energy": 'kicks_per_second = "2 1/s"', "kicks_per_second": 'energy = "0.05 mJ"'}[
        given
    ]
    text = small.replace(other, 'trial = "week 12"')
    scenario = parse_scenario(text)
    assert scenario.stages[0].kicks.trial == "week 12"
    assert f"stages[0].kicks.{given}" not in keys(scenario)
    missing = {"energy": "kicks_per_second", "kicks_per_second": "energy"}[given]
    assert f"stages[0].kicks.{missing}" in keys(scenario)


def test_the_worse_pool_is_assumed(small: str) -> None:
    assert parse_scenario(small).stages[0].water_in_dome == (0.0, 1.0)
    assert parse_scenario(small.replace('"flood"', '"oven"')).stages[0].water_in_dome == (0.0, 0.0)


def write(folder: Path, small: str, fitted: str | bytes) -> Path:
    path = folder / "line.toml"
    path.write_text('include = "fitted.toml"\n' + small)
    raw = fitted if isinstance(fitted, bytes) else fitted.encode()
    (folder / "fitted.toml").write_bytes(raw)
    return path


def test_included_kicks_replace_those_of_their_duty(tmp_path: Path, small: str) -> None:
    more = small + '[[stages]]\nname = "last"\nduty = "drain"\nlength = 900\nclear_width = 588\n'
    scenario = load_scenario(write(tmp_path, more, FITTED))
    wash, last = scenario.stages
    assert (wash.kicks.energy_mJ, wash.kicks.trial) == (0.08, "week 12, flood")
    assert last.kicks.trial == ""
    assert wash.kicks.rate_per_s == 2.0
    found = keys(scenario)
    assert "stages[0].kicks.energy" not in found
    assert {"stages[0].kicks.kicks_per_second", "stages[1].kicks.energy"} <= found
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


def test_an_included_rate_counts_too(tmp_path: Path, small: str) -> None:
    scenario = load_scenario(write(tmp_path, small, FITTED + 'kicks_per_second = "3 1/s"\n'))
    assert scenario.stages[0].kicks.rate_per_s == 3.0
    assert not {"stages[0].kicks.kicks_per_second", "stages[0].kicks.energy"} & keys(scenario)


def test_a_trial_of_the_stage_itself_comes_first(tmp_path: Path, small: str) -> None:
    own = small.replace("[stages.kicks]", '[stages.kicks]\ntrial = "here"')
    scenario = load_scenario(write(tmp_path, own, FITTED))
    assert (scenario.stages[0].kicks.energy_mJ, scenario.stages[0].kicks.trial) == (0.05, "here")


def test_trials_that_told_nothing_leave_what_was_assumed(tmp_path: Path, small: str) -> None:
    """As ``trial fit`` writes the file then: remarks, the schema and no kicks."""
    scenario = load_scenario(write(tmp_path, small, "# flood: no information\nschema = 2\n"))
    assert scenario == load_scenario(write(tmp_path, small, FITTED.replace("flood]", "rinse]")))
    assert "stages[0].kicks.energy" in keys(scenario)


@pytest.mark.parametrize(
    ("fitted", "key", "got"),
    [
        (FITTED.replace("energy", "enrgy"), "kicks.flood.enrgy", "an unknown key"),
        (FITTED.replace("flood]", "flod]"), "kicks.flod", "flod"),
        (FITTED.replace('trial = "week 12, flood"', ""), "kicks.flood.trial", "nothing"),
        (FITTED.replace("mJ", "mm"), "kicks.flood.energy", "0.08 mm"),
        (FITTED + "steps = 1\n", "kicks.flood.steps", "an unknown key"),
        (FITTED + FITTED.replace("flood]", "wash]"), "kicks", "a table"),
        ("other = 1\n" + FITTED, "other", "an unknown key"),
        ("", "", "an empty file"),
        ("kicks =", "end of document", "Invalid value"),
        (b"\xff", "", "byte 0xff at place 0"),
    ],
)
def test_trouble_in_an_included_file_names_that_file(
    tmp_path: Path, small: str, fitted: str | bytes, key: str, got: str
) -> None:
    with pytest.raises(InputError) as caught:
        load_scenario(write(tmp_path, small, fitted))
    assert caught.value.file == str(tmp_path / "fitted.toml")
    assert caught.value.key == key
    assert str(caught.value.got).startswith(got)


def test_an_included_file_that_is_not_there(tmp_path: Path, small: str) -> None:
    path = write(tmp_path, small, FITTED)
    (tmp_path / "fitted.toml").unlink()
    with pytest.raises(InputError, match=r"fitted\.toml: got no file of this name"):
        load_scenario(path)


def test_a_carried_entry_gives_way_when_its_value_has_changed(small: str) -> None:
    saved = scenario_to_toml(parse_scenario(small))
    edited = saved.replace('energy = "0.05 mJ"', 'energy = "0.09 mJ"')
    entry = {e.key: e for e in parse_scenario(edited).assumed}["stages[0].kicks.energy"]
    assert entry.value == "0.09 mJ"


def test_a_carried_entry_cannot_be_lost_for_untried_kicks(small: str) -> None:
    saved = scenario_to_toml(parse_scenario(small)).partition("\n[[assumed]]")[0]
    assert keys(parse_scenario(saved)) == {
        "stages[0].kicks.energy",
        "stages[0].kicks.kicks_per_second",
        "stages[0].kicks.under_headers",
    }


def test_gauges_move_the_mass_of_a_can_nobody_weighed(small: str) -> None:
    size = 'catalogue = "us_12oz_std"'
    usual = parse_scenario(small).sizes[0]
    heavy = parse_scenario(small.replace(size, size + "\n[sizes.gauges]\nbase = '0.5 mm'")).sizes[0]
    dense = parse_scenario(
        small.replace(size, size + "\n[sizes.gauges]\ndensity = '5.44 g/cm^3'")
    ).sizes[0]
    steel = parse_scenario(small.replace(size, size + '\nmetal = "steel"')).sizes[0]
    weighed = parse_scenario(small.replace(size, size + '\nmass = "11 g"')).sizes[0]
    assert heavy.mass_kg > usual.mass_kg
    assert steel.mass_kg > usual.mass_kg
    assert dense.mass_kg == pytest.approx(usual.mass_kg * 5.44 / 2.72, rel=0.02)
    assert weighed.mass_kg == pytest.approx(0.011, rel=1e-15)
    assert usual.name == "body"
    assert {entry.key for entry in usual.assumed} - {entry.key for entry in weighed.assumed} == {
        "sizes[body].mass"
    }


def test_patterns_are_read_written_and_assumed(small: str) -> None:
    hollow = parse_scenario(small.replace('pattern = "cone"', 'pattern = "hollow cone"'))
    assert any(a.key == "headers.hollow_share" for a in hollow.assumed)
    assert parse_scenario(scenario_to_toml(hollow)) == hollow
    slot = parse_scenario(small.replace('pattern = "cone"', 'pattern = "slot"'))
    assert any(a.key == "headers.fan_thickness_angle" for a in slot.assumed)
    assert not any(a.key == "headers.hollow_share" for a in slot.assumed)
    header = slot.stages[0].headers[0]
    half = math.degrees(header.nozzle.angle_rad) / 2.0
    table = f'measured_angles = ["10 deg", "{half} deg"]\nmeasured_shares = [0.7, "30 %"]\n'
    measured = parse_scenario(small.replace('pattern = "cone"', table + 'pattern = "cone"'))
    nozzle = measured.stages[0].headers[0].nozzle
    assert nozzle.measured_share == (0.7, 0.3)
    assert nozzle.measured_rad == pytest.approx((math.radians(10.0), math.radians(half)))
    assert parse_scenario(scenario_to_toml(measured)) == measured
    wrong = small.replace('pattern = "cone"', table.replace("0.7, ", "") + 'pattern = "cone"')
    with pytest.raises(InputError, match="measured"):
        parse_scenario(wrong)


def assumed(*rows: tuple[str, str]) -> str:
    return "".join(
        f'[[assumed]]\nkey = "{key}"\nvalue = "{value}"\nwhy = "nobody knew"\n'
        for key, value in rows
    )


@pytest.mark.parametrize(
    ("key", "now", "told", "other"),
    [
        ("mat.width", 'width = "700 mm"', "27.559 in", "600 mm"),
        ("guides.wire_heights[1]", "wire_heights", "65 mm", "60 mm"),
        ("stages[0].clear_width", 'clear_width = "588 mm"', "588 mm", "600 mm"),
        ("headers.pitch", "pitch", "57.2 mm", "50 mm"),
    ],
)
def test_an_entry_of_a_value_written_over_is_no_longer_on_record(
    small: str, key: str, now: str, told: str, other: str
) -> None:
    assert now in small
    assert key in keys(parse_scenario(small + assumed((key, told))))
    found = parse_scenario(small + assumed((key, other), ("not.a.key", "1 mm")))
    assert key not in keys(found)
    assert "not.a.key" in keys(found)
    kinds = {row.key.replace("stages[0].headers[0]", "headers"): row.kind for row in found.ranges}
    assert kinds[key] == "given"


@pytest.mark.parametrize(("told", "on_record"), [("117 mm", True), ("120 mm", False)])
def test_so_is_one_that_a_size_carries(small: str, told: str, on_record: bool) -> None:
    entry = assumed(("sizes[body].height", told)).replace("[assumed]", "[sizes.assumed]")
    row = 'diameter = "66 mm"\nheight = "4.606 in"\n'
    text = small.replace('catalogue = "us_12oz_std"\n', row + entry)
    (body,) = parse_scenario(text).sizes
    assert ("sizes[body].height" in {one.key for one in body.assumed}) is on_record
