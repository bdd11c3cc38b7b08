"""The run command: counts, files, comparison, repeatability, interrupt."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from packsim.cli.run import _advising
from packsim.compiling import FIRST_TIME
from packsim.counts import many, pool
from packsim.counts.pool import shared
from packsim.passage.store import load_record

Run = Callable[..., Any]

LINE = """
schema = 2
name = "short line"
about = "Invented: rough kicks, so that a short run counts something."
[mat]
width = "700 mm"
speed = "12 m/min"
[[sizes]]
name = "tall"
diameter = "58 mm"
height = "157 mm"
[guides]
wire_heights = ["40 mm", "100 mm"]
tension = "600 N"
wire_mass = "50 g/m"
wire_stiffness = "1.3 MN"
[[stages]]
name = "wash"
duty = "flood"
length = "2 m"
clear_width = "440 mm"
pack_fill = 0.99
[stages.kicks]
energy = "0.5 mJ"
kicks_per_second = "3 1/s"
drift_to_right = "3 mm/s"
"""


@pytest.fixture
def line(tmp_path: Path) -> Path:
    file = tmp_path / "line.toml"
    file.write_text(LINE, encoding="utf-8")
    return file


def data(packsim: Run, *arguments: str) -> dict[str, Any]:
    result = packsim("run", *arguments, "--json", "-")
    assert result.returncode == 0, result.stderr
    parsed: dict[str, Any] = json.loads(result.stdout)
    return parsed


def test_a_loose_line_tips_and_a_tight_one_does_not(packsim: Run, line: Path) -> None:
    # eight lanes of 58 mm need 58 (1 + 7 √3/2) = 409.6 mm: 440 mm leaves 30 mm, more than a wire at
    # 100 mm can take with a pool in the dome, z tan α = 100 tan 14° = 25 mm
    # kicks four times the energy: no tip of 600 may still be 6150 per million (Poisson, 3.69 / 600)
    line.write_text(LINE.replace("0.5 mJ", "2 mJ"), encoding="utf-8")
    found = data(
        packsim,
        str(line),
        "--cans",
        "600",
        "--repeats",
        "1",
        "--guides",
        "as-set",
        "--guides",
        "411 mm",
    )
    loose, tight = found["cases"]
    assert loose["tips_per_million"] > 0
    assert tight["tips_per_million"] == 0
    assert loose["tips_per_million_interval"][0] > tight["tips_per_million_interval"][1]
    assert min(loose["counted"], tight["counted"]) >= 600
    # what is expected of the loose one is not asked: kicks of 2 mJ are four times what tips a can
    # alone, and the run is too short to count them against it
    assert tight["agreement"] == ["agree"]
    (expected,) = tight["chance"]["stages"]
    assert expected["tips_per_million"] == 0.0


def test_the_result_does_not_depend_on_workers(packsim: Run, line: Path) -> None:
    asked = (str(line), "--cans", "200", "--repeats", "2", "--seed", "5")
    one, two = data(packsim, *asked), data(packsim, *asked, "--workers", "2")
    assert one.pop("stamp")["command"] + " --workers 2" == two.pop("stamp")["command"]
    assert one == two


def test_files_are_written_and_the_record_replays(packsim: Run, line: Path, tmp_path: Path) -> None:
    names = ("c.svg", "p.png", "r.npz", "h.svg", "v.svg")
    chart, profile, record, places, voids = (tmp_path / name for name in names)
    result = packsim(
        "run",
        str(line),
        "--cans",
        "200",
        "--repeats",
        "1",
        "--chart",
        str(chart),
        "--profile",
        str(profile),
        "--places",
        str(places),
        "--voids",
        str(voids),
        "--record",
        str(record),
    )
    assert result.returncode == 0, result.stderr
    assert "<svg" in chart.read_text(encoding="utf-8")
    assert profile.read_bytes().startswith(b"\x89PNG")
    assert "left edge" in places.read_text(encoding="utf-8")
    assert "open area between the guides" in voids.read_text(encoding="utf-8")
    kept = load_record(record)
    assert kept.cans_in == kept.cans_out + kept.on_mat
    assert kept.size == "tall"
    assert int(np.sum(kept.tipped)) == len(kept.events)
    again = packsim("run", str(line), "--cans", "200", "--record", str(record))
    assert again.returncode == 2
    assert "--replace" in again.stderr


def test_bad_options_end_with_two(packsim: Run, line: Path) -> None:
    for extra in (
        ("--cans", "0"),
        ("--repeats", "-1"),
        ("--guides", "wide"),
        ("--size", "tin"),
        ("--workers", "0"),
        ("--chart", "x.bmp"),
        ("--fitted", "nowhere.toml"),
    ):
        result = packsim("run", str(line), "--cans", "50", "--repeats", "1", *extra)
        assert result.returncode == 2, (extra, result.stderr)
        assert "Traceback" not in result.stderr


def test_what_is_counted_is_said(packsim: Run, line: Path) -> None:
    asked = ("run", str(line), "--cans", "50", "--repeats", "1")
    assert "Counted in slices of pack that repeat along travel" in packsim(*asked).stdout
    whole = packsim(*asked, "--whole-line").stdout
    assert "those that were on it at the start are not counted" in whole
    assert "50 cans in 1 of 1 runs" in whole
    line.write_text(LINE.replace("pack_fill = 0.99", "pack_fill = 1.0"), encoding="utf-8")
    touching = packsim(*asked).stdout
    assert "those that were on it at the start are not counted" in touching
    assert "Expected tips are a lower bound" in touching
    assert "Counted in slices of pack" in packsim(*asked, "--slices").stdout


@pytest.mark.all
def test_that_kernels_are_compiled_is_said_once_however_many_compile(
    line: Path, tmp_path: Path
) -> None:
    asked = ("run", str(line), "--cans", "100", "--repeats", "4", "--workers", "2")
    found = subprocess.run(
        [sys.executable, "-m", "packsim", *asked],
        env={**os.environ, "NUMBA_CACHE_DIR": str(tmp_path / "code")},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert found.stderr.count(FIRST_TIME) == 1


def test_fitted_kicks_take_the_place_of_the_assumed_ones(
    packsim: Run, line: Path, tmp_path: Path
) -> None:
    gentle = tmp_path / "fitted.toml"
    gentle.write_text(
        '[kicks.flood]\nenergy = "0.001 mJ"\nkicks_per_second = "1 1/s"\ntrial = "made up here"\n',
        encoding="utf-8",
    )
    asked = (str(line), "--cans", "300", "--repeats", "1")
    rough, calm = data(packsim, *asked), data(packsim, *asked, "--fitted", str(gentle))
    assert rough["cases"][0]["tips_per_million"] > 0
    assert calm["cases"][0]["tips_per_million"] == 0


TOLD = """
import sys
import time
from contextlib import contextmanager
import packsim.cli.app as app
import packsim.counts.many as many
from packsim.counts.copies import Copies
begun, load, shared, tell = app.begun, many.run_shortest, many.shared, Copies._tell
sign = sys.argv.pop(1)
def told(what):
    if what == sign:
        print(what, flush=True)
@contextmanager
def told_begun(words):
    with begun(words):
        told("it is read what to do")
        time.sleep(600.0 if sign == "it is read what to do" else 0.0)
        yield
def slow_load():
    load()
    time.sleep(600.0 if sign == "loading goes on" else 0.0)
def told_jobs(self, jobs):
    tell(self, jobs)
    told("loading goes on")
    told("workers start")
def told_results(*given):
    for number, found in enumerate(shared(*given)):
        yield found
        if number == 1:
            told("runs are done")
app.begun, many.run_shortest, many.shared = told_begun, slow_load, told_results
Copies._tell = told_jobs
if __name__ == "__main__":
    app.main()
"""


@pytest.mark.skipif(os.name != "posix", reason="sends an interrupt as a terminal would")
@pytest.mark.parametrize(
    ("sign", "workers", "code"),
    [
        pytest.param("runs are done", 1, 0, marks=pytest.mark.all),
        pytest.param("it is read what to do", 2, 130, marks=pytest.mark.all),
        pytest.param("loading goes on", 2, 0, marks=pytest.mark.all),
        pytest.param("workers start", 2, 0, marks=pytest.mark.all),
        ("runs are done", 2, 0),
    ],
)
def test_an_interrupt_keeps_what_is_done_says_so_and_leaves_no_worker(
    interrupted: Run, line: Path, tmp_path: Path, sign: str, workers: int, code: int
) -> None:
    asked = ("--cans", "50", "--repeats", "4000", "--workers", str(workers))
    script = tmp_path / "told.py"
    script.write_text(TOLD, encoding="utf-8")
    ended = interrupted(sign, script, sign, "run", line, *asked)
    said = ended.stderr.replace(FIRST_TIME + "\n", "")  # on a machine that has not compiled yet
    assert (ended.returncode, said) == (code, "")
    assert ("interrupted" in ended.stdout) == (code == 0)


def killed(*_: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
def test_a_worker_that_is_killed_is_one_line(
    packsim: Run, line: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the system does where memory runs out."""
    monkeypatch.setattr(pool, "active_count", lambda: 1)  # as in a command
    monkeypatch.setattr(many, "run_shortest", pool.nothing)
    monkeypatch.setattr(many, "_run_one", killed)
    ended = packsim("run", line, "--cans", 50, "--repeats", 3, "--workers", 2)
    assert (ended.returncode, ended.stdout) == (1, "")
    assert ended.stderr.startswith("packsim run: a process that counted was ended from outside")
    assert ended.stderr.count("\n") == 1


def test_what_was_interrupted_goes_on_to_the_same_bytes(
    packsim: Run, line: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = ("run", line, "--cans", 50, "--repeats", 3, "--json", "-")
    kept = ("--resume", tmp_path / "night 1.jsonl")
    with monkeypatch.context() as patch:
        patch.setattr("packsim.counts.many.shared", cut_off_after_one)
        (note,) = json.loads(packsim(*asked).stdout)["cases"][0]["notes"][-1:]
        assert note.startswith("interrupted: only the runs finished by then are counted; they are ")
        assert "not kept: with --resume FILE.jsonl" in note
        stopped = json.loads(packsim(*asked, *kept).stdout)["cases"][0]
    assert stopped["interrupted"] is True
    name = f'--resume "{tmp_path / "night 1.jsonl"}"'
    words = f"packsim run {line} --cans 50 --repeats 3 --json - {name}"
    assert stopped["notes"][-1].endswith(f"; to go on from there: {words}")
    assert packsim(*asked, *kept).stdout == packsim(*asked).stdout
    refused = packsim(*asked, *kept, "--seed", 8)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "night 1.jsonl: seed: got 0; needs 8, as asked now" in refused.stderr
    refused = packsim(*asked, "--resume", tmp_path / "line.toml")
    assert (refused.returncode, "needs a name ending in .jsonl" in refused.stderr) == (2, True)


def cut_off_after_one(*asked: Any) -> Iterator[Any]:
    """What is shared out, until somebody interrupts after the first."""
    yield next(shared(*asked))
    raise KeyboardInterrupt


def test_of_a_long_run_is_said_that_it_keeps_nothing(monkeypatch, capsys) -> None:
    clock, ticks = iter([100.0, 101.0, 109.0, 120.0]), []
    monkeypatch.setattr("packsim.cli.run.time.perf_counter", lambda: next(clock))
    tick = _advising(lambda done, of: ticks.append(done))
    for done in (2, 3, 11, 20):
        tick(done, 200)
    assert ticks == [2, 3, 11, 20]
    # 9 of 200 in 9 s: 189 s to go
    (said,) = capsys.readouterr().err.splitlines()
    assert said.startswith("packsim: some 3 minutes to go. With --resume FILE.jsonl")


def test_what_stops_cans_is_said_before_they_are_counted(packsim: Run, tmp_path: Path) -> None:
    """Issue 12: run said nothing of a hold-down that crushes, nor of a stage too narrow."""
    second = LINE[LINE.index("[[stages]]") :].replace('"wash"', '"rinse"')
    second = second.replace("440 mm", "405 mm").replace(
        'length = "2 m"', 'length = "1 m"\nhold_down = "150 mm"'
    )
    file = tmp_path / "two.toml"
    file.write_text(LINE + second, encoding="utf-8")
    notes = data(packsim, str(file), "--cans", "10", "--repeats", "1")["cases"][0]["notes"]
    # 440 mm hold eight lanes of 58 mm, 58 (1 + 7 √3/2) = 409.6 mm; 405 mm hold seven
    assert "rinse: 7 lanes fit in 405.0 mm, but the infeed brings 8: the pack jams" in notes
    assert "rinse: the hold-down is 7.0 mm too low: it would crush the cans" in notes
