"""``python -m tests.look.shipped_photo``: the photograph of the README and what is found in it.

The photograph is rendered from a known pack: the 211 body of the swing line on its way through the
pre-rinse, as the passage moves it, but for guides that stand wider than the file says; seen by the
renderer of these tests. No real line, machine or camera stands behind it. Two cans are taken away.
"""

from __future__ import annotations

import io
import math
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

from packsim.look.beside import SHOULDER_MM
from packsim.pack.state import Pack
from packsim.passage.step import start_slice, step
from packsim.passage.track import loaded_track
from packsim.scenario import load_scenario
from tests.cli.conftest import run
from tests.look.render import Camera, Looks, Mat, picture

ROOT = Path(__file__).resolve().parents[2]
LINE = ROOT / "scenarios" / "swing_line.toml"
PLACE = ROOT / "scenarios" / "photos" / "swing_infeed.jpg"
SHOWN = ROOT / "shared" / "pictures" / "look.png"
SIZE = "211 body"
WIDTH_MM = 1398.0
STATION_MM = 900.0
PX_PER_MM = 1.25
HIGH_MM = 1700.0
GONE = (300, 301)
WIDE_PX, GAP_PX = 620, 16


def known_pack() -> Pack:
    """Return the pack that stands in the picture, the cans that are taken away too."""
    line = load_scenario(LINE)
    line = line.with_stages(tuple(one.with_clear_width(WIDTH_MM) for one in line.stages))
    track, rng = loaded_track(line, SIZE), np.random.default_rng(line.seed)
    state = start_slice(track, rng, 1400.0)
    while state.travel_mm < STATION_MM:
        state, _ = step(state, track, 0.2, rng, tips=False)
    at = int(track.cell(state.travel_mm))
    left, right = float(track.left_mm[at]), float(track.right_mm[at])
    centres = np.column_stack((state.x_mm % state.period_mm, state.y_mm - left))
    return Pack(
        centres_mm=centres,
        diameter_mm=track.diameter_mm,
        clear_width_mm=right - left,
        length_mm=state.period_mm,
        layout="lengthwise",
        state="slack",
        lanes=24,
        pack_width_mm=track.infeed.pack_width_mm,
    )


def rendered() -> bytes:
    """Return the photograph as a JPEG file, with the note of its focal length."""
    pack, line = known_pack(), load_scenario(LINE)
    height = line.size(SIZE).height_mm
    wire = max(line.stages[0].guides.wires.heights_mm)
    mat = Mat(
        np.delete(pack.centres_mm, GONE, axis=0),
        pack.diameter_mm,
        height,
        (0.0, pack.clear_width_mm),
        guide_below_mm=height - SHOULDER_MM - wire,
    )
    size = round(1050.0 * PX_PER_MM), round((pack.clear_width_mm + 130.0) * PX_PER_MM)
    middle = pack.length_mm / 2.0, pack.clear_width_mm / 2.0
    camera = Camera(size, PX_PER_MM, middle, tilt_deg=8.0, azimuth_deg=35.0, far_mm=HIGH_MM)
    shown = Image.fromarray(picture(mat, camera, Looks(), np.random.default_rng(1)).astype("uint8"))
    notes = Image.Exif()
    on_film = PX_PER_MM * HIGH_MM / math.hypot(*size) * math.hypot(36.0, 24.0)
    notes.get_ifd(0x8769)[0xA405] = round(on_film)
    kept = io.BytesIO()
    shown.save(kept, "JPEG", quality=85, exif=notes)
    return kept.getvalue()


def side_by_side(overlay: Path) -> Image.Image:
    """Return the photograph beside the picture drawn over it, small enough for the README."""
    drawn, photo = Image.open(overlay).convert("RGB"), Image.open(PLACE).convert("RGB")
    scale = WIDE_PX / photo.width
    high = round(drawn.height * scale)
    both = Image.new("RGB", (2 * WIDE_PX + GAP_PX, high), "white")
    both.paste(photo.resize((WIDE_PX, round(photo.height * scale))), (0, 0))
    both.paste(drawn.resize((WIDE_PX, high)), (WIDE_PX + GAP_PX, 0))
    return both.quantize(256, Image.Quantize.MAXCOVERAGE)


def main() -> int:
    """Write both where they are shipped; return 0."""
    PLACE.parent.mkdir(exist_ok=True)
    PLACE.write_bytes(rendered())
    with tempfile.TemporaryDirectory() as folder:
        overlay = Path(folder, "look.png")
        words = ("look", PLACE, "--size", SIZE, "--scenario", LINE, "-o", overlay)
        ended = run(*words)
        print(ended.stdout, ended.stderr)
        side_by_side(overlay).save(SHOWN, optimize=True)
    for place in (PLACE, SHOWN):
        print(f"{place.relative_to(ROOT)}: {place.stat().st_size:,} bytes")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
