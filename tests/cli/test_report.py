"""``packsim report`` and ``packsim draw``: files as asked for, or none at all."""

from __future__ import annotations

import os
from pathlib import Path

import ezdxf
import pytest

from packsim.report.page import page_charts


@pytest.fixture
def scenario(root) -> Path:
    return root / "scenarios" / "first_look.toml"


def test_report_writes_one_page_and_keeps_what_is_there(packsim, scenario, tmp_path):
    target = tmp_path / "study.html"
    result = packsim("report", scenario, "-o", target)
    assert result.returncode == 0, result.stderr
    assert result.stdout == f"wrote {target}\n"
    page = target.read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")
    assert [path.name for path in tmp_path.iterdir()] == ["study.html"]
    refused = packsim("report", scenario, "-o", target, "--units", "inch")
    assert refused.returncode == 2
    assert "--replace" in refused.stderr
    assert target.read_text(encoding="utf-8") == page


def test_replace_replaces(packsim, scenario, tmp_path, monkeypatch):
    monkeypatch.setattr(page_charts, "SWEEP_STEPS", 5)
    target = tmp_path / "study.html"
    target.write_text("mine", encoding="utf-8")
    arguments = ["report", str(scenario), "-o", str(target), "--replace", "--units", "inch"]
    result = packsim(*arguments)
    assert result.returncode == 0, result.stderr
    assert "lengths in inches" in target.read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", ["svg", "dxf", "png"])
@pytest.mark.parametrize("view", ["plan", "elevation"])
def test_draw_writes_every_kind(packsim, scenario, tmp_path, kind, view):
    target = tmp_path / f"drawing.{kind}"
    arguments = ["draw", scenario, "--stage", "wash", "--size", "211 body", "--view", view]
    result = packsim(*arguments, "-o", target)
    assert result.returncode == 0, result.stderr
    data = target.read_bytes()
    if kind == "dxf":
        assert ezdxf.readfile(target).header["$INSUNITS"] == 4
    else:
        assert data.startswith({"svg": b"<svg", "png": b"\x89PNG"}[kind])


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (("--stage", "nowhere", "--size", "211 body", "-o", "a.svg"), "stage"),
        (("--stage", "wash", "--size", "giant", "-o", "a.svg"), "size"),
        (("--stage", "wash", "--size", "211 body", "-o", "a.gif"), "output"),
        (("--stage", "wash", "--size", "211 body", "-o", "no/such/a.svg"), "output"),
    ],
)
def test_draw_refuses_in_one_line(packsim, scenario, tmp_path, arguments, word):
    *head, name = arguments
    result = packsim("draw", scenario, *head, tmp_path / name)
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1
    assert word in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_report_refuses_another_kind_of_file(packsim, scenario, tmp_path):
    result = packsim("report", scenario, "-o", tmp_path / "study.pdf")
    assert result.returncode == 2
    assert ".html" in result.stderr


def test_an_interrupted_write_leaves_the_old_file(packsim, scenario, tmp_path, monkeypatch):
    target = tmp_path / "study.html"
    target.write_text("the old page", encoding="utf-8")

    def full_disk(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(page_charts, "SWEEP_STEPS", 5)
    monkeypatch.setattr(os, "fsync", full_disk)
    result = packsim("report", scenario, "-o", target, "--replace")
    assert result.returncode == 2
    assert "No space left" in result.stderr
    assert target.read_text(encoding="utf-8") == "the old page"
    assert [path.name for path in tmp_path.iterdir()] == ["study.html"]
