"""Every written file says where it comes from, in the same words, and is the same every time."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from PIL import Image
from typer.testing import CliRunner

from packsim.cli.commands import app
from packsim.report.files.stamp import scenario_hash
from packsim.scenario import load_scenario
from packsim.version import program_version

ASKED = {
    "a.json": ("nozzles", "check", "--stage", "wash", "--json"),
    "a.csv": ("nozzles", "check", "--stage", "wash", "--csv"),
    "chart.svg": ("nozzles", "check", "--stage", "wash", "--chart"),
    "chart.png": ("nozzles", "check", "--stage", "wash", "--chart"),
    "a.html": ("change", "--to", "sleek body", "--html"),
    **{
        f"plan{ending}": ("draw", "--stage", "wash", "--size", "211 body", "--output")
        for ending in (".svg", ".png", ".pdf", ".dxf")
    },
}


def written(file: str, words: tuple[str, ...], scenario: Path, folder: Path) -> bytes:
    """Run a command and return what it wrote."""
    folder.mkdir(exist_ok=True)
    commands = 2 if words[0] == "nozzles" else 1
    line = [*words[:commands], str(scenario), *words[commands:], str(folder / file)]
    result = CliRunner().invoke(app, line, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return (folder / file).read_bytes()


def said(file: str, data: bytes) -> str:
    """Return the stamp a file carries, by the way such files are read."""
    readers: dict[str, Callable[[], Any]] = {
        ".csv": lambda: data.decode().splitlines()[0].removeprefix("# "),
        ".svg": lambda: re.findall(r"<metadata>(.*?)</metadata>", data.decode())[0],
        ".html": lambda: re.findall(r"<p class=\"quiet\">(.*?)</p>", data.decode())[-1],
        ".png": lambda: Image.open(BytesIO(data)).info["Comment"],
        ".pdf": lambda: re.findall(rb"/Subject \((.*?)\)", data)[0].decode("latin-1"),
        ".json": lambda: "; ".join(map(str, json.loads(data)["stamp"].values())),
        ".dxf": lambda: ezdxf.readfile(data.decode()).header.custom_vars.get("STAMP"),
    }
    return unescape(readers[Path(file).suffix]())


@pytest.mark.parametrize(
    "file",
    [
        pytest.param(file, marks=pytest.mark.all if file in ("chart.png", "plan.png") else ())
        for file in ASKED
    ],
)
def test_every_file_is_stamped_and_the_same_every_time(
    root: Path, tmp_path: Path, file: str
) -> None:
    line = root / "scenarios" / "swing_line.toml"
    first = written(file, ASKED[file], line, tmp_path / "a")
    assert written(file, ASKED[file], line, tmp_path / "b") == first
    told = said(file, str(tmp_path / "a" / file).encode() if file.endswith(".dxf") else first)
    case = load_scenario(line)
    name = case.name.replace(",", ";") if file.endswith(".csv") else case.name
    for part in (name, f"packsim {program_version()}", "211", scenario_hash(line)):
        assert part in told
    command = [word for word in ASKED[file][:-1] if word not in ("sleek body", "211 body")]
    assert [word for word in command if word not in told] == []
    assert "swing_line.toml" in told
    assert str(root) not in told  # nobody's folders


def test_a_hash_is_of_what_a_scenario_says(root: Path, tmp_path: Path) -> None:
    text = (root / "scenarios" / "swing_line.toml").read_text(encoding="utf-8")
    hashes = []
    for change in (
        lambda t: t,
        lambda t: "# a remark\n" + t.replace("\n", "\r\n"),
        lambda t: t.replace('width = "1600 mm"', 'width = "1601 mm"'),
    ):
        file = tmp_path / "line.toml"
        file.write_bytes(change(text).encode())
        hashes.append(scenario_hash(file))
    assert hashes[0] == hashes[1] != hashes[2]
    assert re.fullmatch(r"[0-9a-f]{12}", hashes[0])
    kicks = [tmp_path / "a.toml", tmp_path / "b.toml"]
    for energy, path in enumerate(kicks, start=1):
        path.write_text(f'[kicks.rinse]\nenergy = "{energy} mJ"\ntrial = "t"\n', "utf-8")
    file.write_text('include = "a.toml"\n' + text, "utf-8")
    assert len({scenario_hash(file), scenario_hash(file, kicks[1]), *hashes}) == 4
    assert scenario_hash(file) == scenario_hash(file, kicks[0])
    pairs = {scenario_hash(file, None, [one]) for one in (*kicks, file)}  # other lines, figures
    assert len(pairs | {scenario_hash(file)}) == 4


def test_names_cannot_break_out_of_a_stamp(root: Path, tmp_path: Path) -> None:
    text = (root / "scenarios" / "swing_line.toml").read_text(encoding="utf-8")
    evil = tmp_path / "evil.toml"
    name = 'a</metadata><script>, \\"b\\" (c) ü'
    evil.write_text(re.sub(r'^name = "Swing.*"$', f'name = "{name}"', text, flags=re.M), "utf-8")
    for file in ("plan.svg", "a.csv", "plan.png", "plan.pdf"):
        data = written(file, ASKED[file], evil, tmp_path)
        assert b"<script>" not in data or file != "plan.svg"
        if file == "a.csv":
            assert '"' not in data.decode().splitlines()[0]
            assert "," not in data.decode().splitlines()[0]
        if file == "plan.png":
            assert Image.open(BytesIO(data)).info["Title"] == load_scenario(evil).name
