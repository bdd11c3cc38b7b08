"""Run in a copy of the tree with every recipe applied: uses what is new and prints what it did."""

from __future__ import annotations

import contextlib
import io
import json
import re
import sys
from pathlib import Path
from typing import Any

from packsim.catalogue import can_size
from packsim.cli.commands import ended
from packsim.errors import InputError
from packsim.line import DUTIES
from packsim.report.page.page import study_page
from packsim.report.words.display import Display
from packsim.scenario import parse_scenario
from packsim.scenario.tables import ScenarioFile
from packsim.scenario.write import scenario_to_toml
from packsim.study import study_line
from tests.scenario_schema import schema_text

LINE = Path("scenarios/first_look.toml")
TO_SWEEP = ("--over", "clear-width", "--lowest", "585 mm", "--highest", "590 mm", "--steps", "2")
TEXT = LINE.read_text(encoding="utf-8")


def changed(old: str, new: str) -> str:
    assert TEXT.count(old) == 1, old
    return TEXT.replace(old, new)


def refused(text: str) -> str:
    try:
        parse_scenario(text)
    except InputError as error:
        return str(error)
    return ""


def said(*words: str) -> tuple[int, str]:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        return ended(words), out.getvalue()


def main() -> dict[str, Any]:
    plain = study_line(parse_scenario(TEXT))
    given = parse_scenario(changed("[mat] ", '[mat]\nmesh_pitch = "1 in"\n# '))
    twisted = parse_scenario(changed("[guides] ", '[guides]\nguide_twist = "0.7 mm"\n# '))
    heated = parse_scenario(changed('duty = "flood"', 'duty = "pre-heat"'))
    text = re.sub(r"wire_heights = \[.*?\]", 'wire_heights = ["100 mm"]', TEXT)
    single = study_line(parse_scenario(text))
    terms = {term.name: term for term in study_line(twisted).answers[0].budget.terms}
    page = study_page(plain, Display())
    ids = re.findall(r'\bid="([^"]+)"', page)
    return {
        "size": can_size("recipe_400ml").height_mm,
        "key": {
            "given": given.mat.mesh_pitch_mm,
            "left out": plain.scenario.mat.mesh_pitch_mm,
            "assumed": [one.key for one in plain.scenario.assumed if "mesh" in one.key],
            "read back": parse_scenario(scenario_to_toml(given)) == given,
            "schema": "mesh_pitch" in schema_text(ScenarioFile),
            "refused": refused(
                scenario_to_toml(given).replace("mesh_pitch = ", 'mesh_pitch = "3 K" #')
            ),
        },
        "duty": {
            "kicks": heated.stages[0].kicks.energy_mJ,
            "heats": DUTIES["pre-heat"].heats,
            "allowed": refused(changed('duty = "flood"', 'duty = "soak"')),
            "schema": "pre-heat" in schema_text(ScenarioFile),
        },
        "term": {
            "tightest": terms["guide twist"].tightest_mm,
            "loosest": terms["guide twist"].loosest_mm,
            "loosens": study_line(twisted).answers[0].budget.loosest_mm
            - plain.answers[0].budget.loosest_mm,
            "read back": parse_scenario(scenario_to_toml(twisted)) == twisted,
        },
        "finding": [one.what for one in single.findings if "single wire" in one.what],
        "not found": [one.what for one in plain.findings if "single wire" in one.what],
        "quantity": {
            "codes": [
                said("study", str(LINE), "--json", "study.json")[0],
                said("sweep", str(LINE), *TO_SWEEP, "--csv", "sweep.csv")[0],
            ],
            "json": json.loads(Path("study.json").read_text(encoding="utf-8"))["answers"][0],
            "csv": Path("sweep.csv").read_text(encoding="utf-8").splitlines()[1],
            "per metre": plain.answers[0].pack.cans_per_metre,
        },
        "chart": {"there": "How many lanes?" in page, "once each": len(ids) == len(set(ids))},
        "command": said("lanes", str(LINE), "--json", "lanes.json")[0],
        "json": json.loads(Path("lanes.json").read_text(encoding="utf-8")),
        "help": said("--help")[1],
    }


if __name__ == "__main__":
    json.dump(main(), sys.stdout)
