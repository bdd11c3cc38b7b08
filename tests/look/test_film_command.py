"""``packsim look`` of a folder or a film: what is told, saved, counted, played, and refused."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import imageio.v2 as imageio
import numpy as np
import pytest
from PIL import Image

from packsim.errors import InputError
from packsim.look import frames
from packsim.look import look as reading
from packsim.passage.store import load_record
from packsim.scenario import load_scenario, scenario_to_toml
from packsim.scenario.trial_file import load_trials
from tests.answers_schema import answers_schema
from tests.cli.conftest import run
from tests.look.known_films import carried, packs
from tests.look.known_packs import with_states
from viewer.session.open import open_session, read_options

ROOT = Path(__file__).resolve().parents[2]
SIZE = ("--size", "sleek body", "--scenario", "line.toml")
PICTURES = 15


@pytest.fixture(scope="module")
def seen() -> list[Any]:
    line = load_scenario(ROOT / "scenarios" / "swing_line.toml")
    each = packs(carried(line, "sleek body", PICTURES, 0.1, 0.05))
    return [with_states(one, down=40) if k == 4 else one for k, one in enumerate(each)]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seen: list[Any]) -> Path:
    """A folder with the swing line and a film, whose pictures are read as a known passage."""
    monkeypatch.chdir(tmp_path)
    shutil.copy(ROOT / "scenarios" / "swing_line.toml", tmp_path / "line.toml")

    def pictures(place: Path, every: float | None) -> tuple[int, Iterator[frames.Picture]]:
        grey = np.zeros((1, 1))
        each = [frames.Picture(str(k), 0.1 * k, grey) for k in range(PICTURES)]
        return PICTURES, iter(each)

    monkeypatch.setattr(frames, "pictures_of", pictures)
    monkeypatch.setattr(reading, "seen_in", lambda grey, mm, name, **_: seen[int(name)])
    (tmp_path / "mat.mp4").write_bytes(b"")
    return tmp_path / "mat.mp4"


def test_a_film_tells_slack_travel_and_kicks_and_saves_them(folder: Path) -> None:
    files = ("--chart", "slack.svg", "--save", "new.toml")
    shown = run("look", folder, *SIZE, *files)
    assert (shown.returncode, shown.stderr) == (0, "")
    words = {" ".join(line.split()) for line in shown.stdout.splitlines()}
    assert "pictures 15 of 15, 0.10 s apart, 1.4 s" in words
    for begin in ("speed of the cans 9", "drift to the right", "step of a kick that gives this"):
        assert any(line.startswith(begin) and "scenario" in line for line in words), begin
    assert "How does the slack change with time?" in Path("slack.svg").read_text("utf-8")
    known = {one.key: one for one in load_scenario("new.toml").ranges}
    kicks = load_scenario("new.toml").stages[0].kicks
    was = load_scenario("line.toml").stages[0].kicks
    assert known["stages[0].kicks.sideways_step_rms"].kind == "measured"
    assert known["stages[0].kicks.drift_to_right"].kind == "measured"
    assert kicks.step_mm == pytest.approx(was.step_mm, rel=0.35)
    assert kicks.energy_mJ == was.energy_mJ


def test_the_data_of_a_film_fit_the_schema(folder: Path) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    shown = run("look", folder, *SIZE, "--json", "-")
    assert shown.returncode == 0, shown.stderr
    told = json.loads(shown.stdout)
    del told["stamp"]
    schema = answers_schema()
    (look,) = (one for one in schema["oneOf"] if one["properties"]["command"]["const"] == "look")
    jsonschema.Draft202012Validator({**look, "$defs": schema["$defs"]}).validate(told)
    assert len(told["filmed"]["moments"]) == PICTURES
    assert told["filmed"]["speed_from"] == "cans"
    assert told["shaken"]["step_now_mm"] == 0.15


def test_cans_down_become_a_trial_of_their_line(folder: Path) -> None:
    shown = run("look", folder, *SIZE, "--counts", "counted.csv")
    assert shown.returncode == 0, shown.stderr
    assert "packsim trial fit line.toml counted.csv" in shown.stdout
    line = load_scenario("line.toml")
    # nobody saw what tips in the stages that follow: that is asked for, not taken as none
    with pytest.raises(InputError, match="the cans tipped, here or at every stage"):
        load_trials(["counted.csv"], line)
    text = Path("counted.csv").read_text("utf-8")
    assert "fill in tipped: these 1 and those that tip after pre-rinse" in text
    head, whole, own = text.splitlines()[-3:]
    column = head.split(",").index("tipped")
    cells = whole.split(",", column + 1)
    cells[column] = "3"
    Path("counted.csv").write_text("\n".join((head, ",".join(cells), own, "")), "utf-8")
    (trial,) = load_trials(["counted.csv"], line)
    assert trial.name == "pre-rinse mat"
    assert (trial.size, trial.tipped) == ("sleek body", 3)
    assert not trial.by_stage
    assert trial.stages[0].tipped == 1
    assert trial.stages[1].tipped is None
    assert 200 < trial.cans < 500


def test_at_the_last_stage_all_that_tipped_is_in_the_pictures(folder: Path) -> None:
    last = load_scenario("line.toml").stages[-1].name
    shown = run("look", folder, *SIZE, "--stage", last, "--counts", "counted.csv")
    assert shown.returncode == 0, shown.stderr
    (trial,) = load_trials(["counted.csv"], load_scenario("line.toml"))
    assert trial.tipped == 1
    assert trial.stages[-1].tipped is None  # there or in any stage before
    assert trial.width_mm(last) == pytest.approx(1390.0, abs=15.0)


def test_without_guides_a_sheet_in_inches_has_the_width_of_the_line(
    folder: Path, seen: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    blind = {"guides_mm": np.full(2, np.nan), "guide_errors_mm": np.full(2, np.nan)}
    monkeypatch.setattr(
        reading, "seen_in", lambda grey, mm, name, **_: replace(seen[int(name)], **blind)
    )
    line = load_scenario("line.toml")
    last = line.stages[-1]
    words = ("--stage", last.name, "--units", "inch", "--counts", "counted.csv")
    shown = run("look", folder, *SIZE, *words)
    assert shown.returncode == 0, shown.stderr
    (trial,) = load_trials(["counted.csv"], line)
    assert trial.width_mm(last.name) == pytest.approx(last.guides.narrowest_mm, abs=0.002)


def test_the_seen_cans_go_through_the_line_and_the_viewer_plays_them(folder: Path) -> None:
    whole = load_scenario("line.toml")
    Path("line.toml").write_text(scenario_to_toml(whole.with_stages(whole.stages[:1])), "utf-8")
    shown = run("look", folder, *SIZE, "--record", "seen.npz")
    assert shown.returncode == 0, shown.stderr
    assert "packsim-viewer seen.npz" in shown.stdout
    record = load_record("seen.npz")
    assert record.size == "sleek body"
    assert len(record.frames) > 10
    line = load_scenario("line.toml")
    assert record.time_s > line.stages[0].length_mm / line.mat.speed_mm_per_s
    session = open_session(read_options(["seen.npz"]))
    assert len(session.packs[0].source.frame) == len(record.frames[0])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("mat.mp4", "-o", "over.png"), "--output: got a folder or a film; needs one photograph"),
        (("mat.jpg", "--chart", "c.svg"), "--chart: got one photograph; needs a folder"),
        (("mat.jpg", "--every", "1"), "--every: got one photograph; needs a folder"),
        (("mat.mp4", "--counts", "t.csv"), "--scenario: got nothing; needs the line"),
        (("mat.jpg", "--record", "r.npz"), "--scenario: got nothing; needs the line"),
        (("mat.mp4", "--every", "0"), "--every: got 0.0; needs a number above 0"),
        (("mat.mp4", "--chart", "c.pdf"), "--chart: got 'c.pdf'; needs a name ending in .svg"),
    ],
)
def test_what_one_picture_or_many_cannot_give_is_a_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    refused = run("look", *words, "--size", "58 mm")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr.startswith(f"packsim look: {said}")
    assert not list(tmp_path.iterdir())


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("none.mp4", None),
        ("empty.mp4", b""),
        ("text.mp4", b"no film at all, but words"),
        ("list.mp4", b"ffconcat version 1.0\nfile '/etc/hosts'\n"),
        ("list.mkv", b"#EXTM3U\n#EXTINF:1,\nhttp://127.0.0.1/a.ts\n"),
        ("broken.mp4", b"\0\0\0\x20ftypisom" + bytes(4000)),
    ],
)
def test_what_is_no_film_is_refused_by_name(tmp_path: Path, name: str, what: bytes | None) -> None:
    if what is not None:
        (tmp_path / name).write_bytes(what)
    refused = run("look", tmp_path / name, "--size", "58 mm")
    assert (refused.returncode, refused.stdout) == (2, "")
    (line,) = refused.stderr.splitlines()
    assert name in line
    assert "[" not in line


def test_a_folder_says_what_is_wrong_with_its_pictures(tmp_path: Path) -> None:
    said = run("look", tmp_path, "--size", "58 mm").stderr
    assert "got 0 pictures in the folder; needs 2 to 300 of them" in said
    for name in "abc":
        Image.new("L", (120, 120)).save(tmp_path / f"{name}.png")
    refused = run("look", tmp_path, "--size", "58 mm")
    assert refused.returncode == 2
    assert "got 0 of 3 pictures with a pack; a.png: got no round rims" in refused.stderr


def test_what_is_told_of_the_camera_is_read_before_any_picture(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none_read(*_: Any) -> Any:
        raise AssertionError

    monkeypatch.setattr(frames, "pictures_of", none_read)
    refused = run("look", folder, "--size", "58 mm", "--camera", "high")
    assert refused.returncode == 2
    assert refused.stderr.startswith("packsim look: --camera: got 'high'; needs a ")


# what reads films leaves its pipes to be collected
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_film_gives_its_pictures_at_their_times(tmp_path: Path) -> None:
    film = tmp_path / "film.mp4"
    with imageio.get_writer(film, fps=10, macro_block_size=8) as writer:
        for k in range(12):
            writer.append_data(np.full((104, 120, 3), 20 * k, np.uint8))
    count, each = frames.pictures_of(film, 0.3)
    found = list(each)
    assert count == len(found) == 4
    assert [one.time_s for one in found] == pytest.approx([0.0, 0.3, 0.6, 0.9])
    grey = [float(np.mean(one.grey)) for one in found]
    assert grey == pytest.approx([0.0, 60 / 255, 120 / 255, 180 / 255], abs=0.02)
    assert frames.pictures_of(film)[0] == 12


def test_a_folder_goes_by_what_the_cameras_noted(tmp_path: Path) -> None:
    for name, second in (("b", 7), ("a", 9)):
        picture = Image.new("L", (120, 120))
        notes = picture.getexif()
        notes[0x8769] = {0x9003: f"2026:05:01 10:00:0{second}", 0x9291: "5"}
        picture.save(tmp_path / f"{name}.jpg", exif=notes)
    (tmp_path / "notes.txt").write_text("no picture")
    _, each = frames.pictures_of(tmp_path)
    assert {one.name: one.time_s for one in each} == {"b.jpg": 0.0, "a.jpg": 2.0}
    _, each = frames.pictures_of(tmp_path, 4.0)
    assert {one.name: one.time_s for one in each} == {"a.jpg": 0.0, "b.jpg": 4.0}
    Image.new("L", (120, 120)).save(tmp_path / "c.png")
    _, each = frames.pictures_of(tmp_path)
    assert {one.time_s for one in each} == {None}
