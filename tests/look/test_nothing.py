"""Pictures of nothing: a sentence, whatever is in them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from packsim.errors import InputError
from packsim.look.look import seen_in
from tests.cli.conftest import run


def stripes(width: int) -> np.ndarray:
    return np.tile((np.arange(width) // 9 % 2).astype(float), (width, 1))


@pytest.mark.parametrize(
    "grey", [np.zeros((200, 240)), np.ones((120, 300)), np.full((150, 150), 0.4), stripes(260)]
)
def test_a_picture_without_edges_or_with_edges_one_way_has_no_rims(grey: np.ndarray) -> None:
    with pytest.raises(InputError, match="rims"):
        seen_in(grey, 66.0)


def sky(place: Path) -> None:
    blue = np.add.outer(np.linspace(210.0, 120.0, 240), np.zeros(320))
    spoilt = blue + np.random.default_rng(2).normal(0.0, 2.0, blue.shape)
    Image.fromarray(spoilt.astype(np.uint8)).save(place)


def phone(place: Path) -> None:
    place.write_bytes(b"\0\0\0\x18ftypheic" + bytes(100))


def huge(place: Path) -> None:
    with place.open("wb") as file:
        file.truncate(100_000_000)


@pytest.mark.parametrize(
    ("name", "made", "size", "said"),
    [
        ("sky.png", sky, "66 mm", "round rims"),
        ("phone.heic", phone, "66 mm", "HEIC"),
        ("huge.tif", huge, "66 mm", "100 MB"),
        ("sky.png", sky, "3 m", "size"),
        ("sky.png", sky, "0.5 mm", "size"),
        ("nowhere.png", lambda place: None, "66 mm", "nowhere.png"),
    ],
)
def test_what_cannot_be_read_ends_with_a_sentence_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name, made, size, said
) -> None:
    monkeypatch.chdir(tmp_path)
    made(tmp_path / name)
    before = sorted(tmp_path.iterdir())
    ended = run("look", name, "--size", size, "-o", "over.png", "--json", "told.json")
    assert (ended.returncode, ended.stdout) == (2, "")
    assert said in ended.stderr
    assert "Traceback" not in ended.stderr
    assert sorted(tmp_path.iterdir()) == before
