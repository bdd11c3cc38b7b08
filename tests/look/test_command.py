"""``packsim look``: a photograph measured, judged on its line, drawn over and saved."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from PIL import Image

from packsim.look import carried, frames, photograph
from packsim.look import look as reading
from packsim.look.seen import SeenPack
from packsim.pack.state import pack_between
from packsim.report.files.stamp import scenario_hash
from packsim.scenario import load_scenario
from tests.cli.conftest import run
from tests.look.known_packs import seen_of, with_states, without

ROOT = Path(__file__).resolve().parents[2]
Run = Callable[..., Any]
SIZE = ("--size", "sleek body")


@pytest.fixture
def packsim() -> Run:
    """Run ``packsim`` with arguments in this process."""
    return run


def sleek(**changes: Any) -> SeenPack:
    pack = pack_between(1390.5, 58.0, "lengthwise", 900.0, 0.985, state="slack", lie="left")
    return replace(with_states(without(seen_of(pack, 0.1), 200), down=90), **changes)


@pytest.fixture
def photo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the swing line and a photograph, which is read as a known pack."""
    monkeypatch.chdir(tmp_path)
    shutil.copy(ROOT / "scenarios" / "swing_line.toml", tmp_path / "line.toml")
    monkeypatch.setattr(reading, "seen_in", lambda grey, mm, name, **_: sleek())
    grey = np.full((300, 400), 0.5)
    for reads in (photograph, frames):  # loaded first, it keeps its own name for the reading
        monkeypatch.setattr(reads, "read_photograph", lambda photo: grey)
    monkeypatch.setattr(photograph, "focal_length_px", lambda photo: None)
    return tmp_path / "mat.jpg"


def test_what_is_seen_stands_beside_what_the_line_predicts(packsim: Run, photo: Path) -> None:
    shown = packsim("look", photo, *SIZE, "--scenario", "line.toml")
    assert (shown.returncode, shown.stderr) == (0, "")
    words = {" ".join(line.split()) for line in shown.stdout.splitlines()}
    assert "lanes 27 27" in words
    assert any(line.startswith("rows along the guides, turned") for line in words)
    assert "verdict can tip can tip" in words
    assert "cans 1 missing, 0 leaning 18° or more, 1 down" in words
    assert "Can it tip, pre-rinse: the very cans that were seen" in words
    assert any(line.startswith("slack of a row") and "right" in line for line in words)
    assert "lock out" in shown.stdout


def test_a_verdict_of_one_can_beside_a_hole_says_so(
    packsim: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = ("--size", "211 body", "--scenario", "line.toml")
    for said in (False, True):
        whole = seen_of(pack_between(1390.5, 66.1, "lengthwise", 900.0, state="slack"))
        at = whole.centres_mm - whole.centres_mm.mean(axis=0)
        order = np.argsort(np.hypot(*at.T))
        seen = without(whole, *order[:2]) if said else whole
        monkeypatch.setattr(reading, "seen_in", lambda grey, mm, name, s=seen, **_: s)
        shown = packsim("look", photo, *line)
        words = " ".join(shown.stdout.split())
        assert shown.returncode == 0
        assert ("verdict can tip held" in words) == said
        assert ("of one can alone beside an open place" in words) == said


def test_without_a_line_the_pack_alone_is_told(packsim: Run, photo: Path) -> None:
    shown = packsim("look", photo, "--size", "sleek_355ml", "--units", "inch")
    assert shown.returncode == 0
    assert "lengths in inches" in shown.stdout
    assert "predicted" not in shown.stdout


@pytest.mark.all
def test_the_data_fit_the_schema_and_say_what_they_rest_on(packsim: Run, photo: Path) -> None:
    schema = json.loads((ROOT / "shared" / "answers.schema.json").read_text("utf-8"))
    for line in ([], ["--scenario", "line.toml", "--save", "new.toml"]):
        size = SIZE if line else ("--size", "58 mm")
        shown = packsim("look", photo, *size, *line, "--json", "-")
        assert shown.returncode == 0, shown.stderr
        told = json.loads(shown.stdout)
        del told["stamp"]
        (look,) = (
            one for one in schema["oneOf"] if one["properties"]["command"]["const"] == "look"
        )
        jsonschema.validate(told, {**look, "$defs": schema["$defs"]})
        assert told["layout"] == "lengthwise"
        assert told["slack_mm"]["value"] == pytest.approx(26.5, abs=1.0)
        assert (told["beside"] is None) == (not line)
    assert told["beside"]["as_seen"]["lanes"] == 27
    assert told["saved"]["changes"]


@pytest.mark.all
def test_two_commands_from_a_picture_to_a_verdict(packsim: Run, photo: Path) -> None:
    saved = packsim("look", photo, *SIZE, "--scenario", "line.toml", "--save", "seen.toml")
    assert saved.returncode == 0, saved.stderr
    assert "packsim study seen.toml" in saved.stdout
    assert packsim("study", "seen.toml").returncode == 0
    known = {one.key: one for one in load_scenario("seen.toml").ranges}
    assert known["stages[0].clear_width"].kind == "measured"


def test_a_picture_alone_makes_a_first_line(packsim: Run, photo: Path) -> None:
    saved = packsim("look", photo, "--size", "sleek_355ml", "--stage", "rinse", "--save", "n.toml")
    assert saved.returncode == 0, saved.stderr
    line = load_scenario("n.toml")
    assert [stage.name for stage in line.stages] == ["rinse"]
    assert line.stages[0].guides.narrowest_mm == pytest.approx(1390.5, abs=1.0)
    assert packsim("study", "n.toml").returncode == 0


def test_nothing_is_overwritten_without_replace(packsim: Run, photo: Path) -> None:
    before = Path("line.toml").read_bytes()
    words = ("look", photo, *SIZE, "--scenario", "line.toml", "--save", "line.toml")
    refused = packsim(*words)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr.startswith("packsim look: --save: got 'line.toml'; needs ")
    assert Path("line.toml").read_bytes() == before
    assert packsim(*words, "--replace").returncode == 0
    assert Path("line.toml").read_bytes() != before


def test_the_picture_over_the_picture_shows_every_can(packsim: Run, photo: Path) -> None:
    words = ("look", photo, *SIZE, "--scenario", "line.toml", "-o", "over.png")
    assert packsim(*words).returncode == 0
    drawn = Image.open("over.png")
    assert drawn.width == 400
    assert drawn.height > 300  # the legend
    colours = {colour for _, colour in drawn.convert("RGB").getcolors(1_000_000)}
    assert len(colours) > 100
    assert packsim(*words[:-1], "over.jpg").stderr.startswith("packsim look: --output: got 'over")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--size", "tin"), "packsim look: --size: got 'tin'; needs the diameter of the body"),
        (
            ("--size", "tin", "--scenario", "line.toml"),
            "packsim look: --size: got 'tin'; needs one ",
        ),
        (
            (*SIZE, "--scenario", "line.toml", "--stage", "attic"),
            "packsim look: --stage: got 'attic'; needs one of pre-rinse",
        ),
        ((*SIZE, "--scenario", "no.toml"), "packsim look: no.toml: "),
        (("--size", "58 mm", "--length", "long"), "packsim look: --length: got 'long'; needs a "),
        (("--size", "58 mm", "--length", "1 kg 1,1 5,5"), "packsim look: --length: got '1 kg'"),
        (("--size", "58 mm", "--guide-below", "far"), "packsim look: --guide-below: got 'far'"),
        (("--size", "58 mm", "--camera", "high"), "packsim look: --camera: got 'high'; needs a "),
        (("--size", "58 mm", "--travel", "back"), "packsim look: --travel: got 'back'; needs one "),
        (("--size", "58 mm", "--chance"), "packsim look: --chance: got no --scenario; needs the "),
        ((), "packsim look: --size: got nothing; needs a value: can size in it"),
    ],
)
def test_what_cannot_be_is_one_line(
    packsim: Run, photo: Path, words: tuple[str, ...], said: str
) -> None:
    refused = packsim("look", photo, *words, "--save", "x.toml")
    assert (refused.returncode, refused.stdout) == (2, "")
    (line,) = refused.stderr.splitlines()
    assert line.startswith(said)
    assert not Path("x.toml").exists()


@pytest.mark.parametrize("what", [b"", b"no picture", b"name = 'a'\n", b"\xff\xd8\xff\xe0broken"])
def test_a_file_that_is_no_photograph_is_refused_by_name(
    packsim: Run, tmp_path: Path, what: bytes
) -> None:
    file = tmp_path / "mat.jpg"
    file.write_bytes(what)
    refused = packsim("look", file, "--size", "58 mm")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "mat.jpg" in refused.stderr
    assert len(refused.stderr.splitlines()) == 1


def test_cans_that_are_no_pack_are_refused(
    packsim: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    apart = sleek()
    apart = replace(apart, centres_mm=3.0 * apart.centres_mm)
    monkeypatch.setattr(reading, "seen_in", lambda grey, mm, name, **_: apart)
    refused = packsim("look", photo, "--size", "58 mm")
    assert refused.returncode == 2
    assert refused.stderr.startswith("packsim look: PHOTO: got ")


def test_without_a_guide_the_pack_is_told_and_nothing_is_judged(
    packsim: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blind = sleek(guides_mm=np.array([0.0, np.nan]), guide_errors_mm=np.array([0.1, np.nan]))
    monkeypatch.setattr(reading, "seen_in", lambda grey, mm, name, **_: blind)
    words = ("look", photo, *SIZE, "--scenario", "line.toml", "--save", "n.toml", "-o", "o.png")
    shown = packsim(*words)
    assert shown.returncode == 0, shown.stderr
    assert "Can it tip" not in shown.stdout
    assert "without both guides there is no slack" in shown.stdout
    width = load_scenario("n.toml").stages[0].guides.narrowest_mm
    assert width == load_scenario("line.toml").stages[0].guides.narrowest_mm


def test_a_picture_of_another_line_or_size_is_asked_about(packsim: Run, photo: Path) -> None:
    text = Path("line.toml").read_text("utf-8").replace('"1390.5 mm"', '"1290 mm"')
    Path("line.toml").write_text(text, "utf-8")
    words = " ".join(packsim("look", photo, *SIZE, "--scenario", "line.toml").stdout.split())
    assert "the guides stand 7.8 % farther apart than the 1290.0 mm of the scenario" in words


def test_a_first_line_from_a_picture_without_a_guide_takes_a_usual_width_and_says_so(
    packsim: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blind = sleek(guides_mm=np.array([0.0, np.nan]), guide_errors_mm=np.array([0.1, np.nan]))
    monkeypatch.setattr(reading, "seen_in", lambda grey, mm, name, **_: blind)
    assert packsim("look", photo, "--size", "sleek_355ml", "--save", "n.toml").returncode == 0
    line = load_scenario("n.toml")
    assert "stages[0].clear_width" in {one.key for one in line.assumed}
    assert line.stages[0].layout == "lengthwise"


def test_a_width_that_the_line_cannot_have_is_the_pictures(
    packsim: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wide = sleek()
    wide = replace(wide, guides_mm=wide.guides_mm + np.array([0.0, 320.0]))
    monkeypatch.setattr(reading, "seen_in", lambda grey, mm, name, **_: wide)
    refused = packsim("look", photo, *SIZE, "--scenario", "line.toml", "--save", "n.toml")
    assert (refused.returncode, Path("n.toml").exists()) == (2, False)
    assert "from known.png: stages[0].clear_width: got " in refused.stderr


def test_what_is_written_tells_of_which_line_it_is(packsim: Run, photo: Path) -> None:
    line = ("--scenario", "line.toml")
    told = json.loads(packsim("look", photo, *SIZE, *line, "--json", "-").stdout)
    assert told["stamp"]["scenario_hash"] == scenario_hash("line.toml")
    alone = json.loads(packsim("look", photo, "--size", "58 mm", "--json", "-").stdout)
    assert alone["stamp"]["scenario_hash"] == ""


def test_a_size_of_the_catalogue_is_told_by_its_own_name(packsim: Run, photo: Path) -> None:
    shown = packsim("look", photo, "--size", "sleek 355")
    assert shown.returncode == 0
    assert "cans, sleek_355ml, " in shown.stdout.splitlines()[0]


def test_what_is_refused_late_leaves_no_file(
    packsim: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(carried, "passage_as_seen", lambda *_: None)
    words = ("look", photo, *SIZE, "--scenario", "line.toml", "-o", "over.png")
    refused = packsim(*words, "--record", "seen.npz")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "--record: got no stretch of pack that repeats" in refused.stderr
    assert [one.name for one in Path().iterdir()] == ["line.toml"]
