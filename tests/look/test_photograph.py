"""What is taken as a photograph, and the sentence that says why something is none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from packsim.errors import InputError
from packsim.look.photograph import read_photograph

RAMP = (np.add.outer(np.arange(120), np.arange(160)) // 2).astype(np.uint8)


def saved(folder: Path, name: str, picture: Image.Image, **how: object) -> Path:
    path = folder / name
    picture.save(path, **how)
    return path


@pytest.mark.parametrize("name", ["a.png", "a.tif", "a.jpg"])
def test_grey_pictures_come_back_as_they_were(tmp_path: Path, name: str) -> None:
    read = read_photograph(saved(tmp_path, name, Image.fromarray(RAMP)))
    assert read.shape == RAMP.shape
    np.testing.assert_allclose(255.0 * read, RAMP, atol=4.0 if name.endswith("jpg") else 1e-9)


@pytest.mark.parametrize("turn", [1, 3, 6, 8])
def test_a_picture_is_turned_as_its_camera_noted(tmp_path: Path, turn: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = turn
    stored = np.rot90(RAMP, {1: 0, 3: 2, 6: 1, 8: 3}[turn])  # by the EXIF standard
    path = saved(tmp_path, "a.png", Image.fromarray(stored), exif=exif)
    np.testing.assert_allclose(255.0 * read_photograph(path), RAMP, atol=1e-9)


def test_sixteen_bits_colour_and_what_is_transparent_are_read(tmp_path: Path) -> None:
    deep = Image.fromarray(RAMP.astype(np.uint16) * 200 + 500)
    read = read_photograph(saved(tmp_path, "deep.png", deep))
    assert np.corrcoef(read.ravel(), RAMP.ravel())[0, 1] > 0.9999
    clear = Image.fromarray(np.dstack((RAMP, RAMP, RAMP, np.zeros_like(RAMP))))
    assert read_photograph(saved(tmp_path, "clear.png", clear)).min() == 1.0
    green = Image.new("RGB", (120, 120), (0, 255, 0))
    assert read_photograph(saved(tmp_path, "green.png", green))[0, 0] == pytest.approx(
        0.587, abs=0.01
    )


def test_each_file_that_is_no_picture_is_named_with_what_it_is(tmp_path: Path) -> None:
    good = saved(tmp_path, "good.jpg", Image.fromarray(np.tile(RAMP, (4, 4))), quality=95)
    (tmp_path / "cut.jpg").write_bytes(good.read_bytes()[:3000])
    (tmp_path / "note.jpg").write_text("cans", encoding="utf-8")
    (tmp_path / "phone.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(100))
    (tmp_path / "empty.png").touch()
    with (tmp_path / "huge.tif").open("wb") as huge:
        huge.truncate(100_000_000)
    frames = [Image.fromarray(RAMP + k) for k in range(3)]
    saved(tmp_path, "many.tif", frames[0], save_all=True, append_images=frames[1:])
    saved(tmp_path, "dot.png", Image.new("L", (1, 1)))
    for name, said in {
        "cut.jpg": "cannot be read to its end",
        "note.jpg": "no picture",
        "phone.heic": "an HEIC or HEIF picture",
        "empty.png": "an empty file",
        "huge.tif": "100 MB",
        "many.tif": "3 pictures in one file",
        "dot.png": "1 x 1 pixels",
        "nowhere.png": "No such file",
        ".": "a folder",
    }.items():
        with pytest.raises(InputError, match=said) as caught:
            read_photograph(tmp_path / name)
        assert str(tmp_path / name) in str(caught.value)
