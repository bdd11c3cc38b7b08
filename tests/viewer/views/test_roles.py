"""Roles stay apart in grey print and with colour-vision deficiency, and never by colour alone."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from colorspacious import cspace_convert, machado_et_al_2009_matrix

from packsim.passage import ROLES
from packsim.report.can_looks import MARKS, MEANINGS
from viewer.screen.roles import PALETTES, Palette

# [machado2009]_, severity 1.0, on linear RGB.
DEFICIENCIES = {
    "none": np.eye(3),
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
               [-0.003882, -0.048116, 1.051998]],
    "deuteran": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
               [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
               [0.004733, 0.691367, 0.303900]],
}  # fmt: skip

# sRGB to XYZ (IEC 61966-2-1), D65
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def lab(colour, kind: str) -> np.ndarray:
    part = np.asarray(colour) / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    seen = np.clip(np.asarray(DEFICIENCIES[kind]) @ linear, 0.0, 1.0)
    ratio = (TO_XYZ @ seen) / TO_XYZ.sum(axis=1)
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (ratio * 24389 / 27 + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("kind", DEFICIENCIES)
def test_the_colours_seen_are_those_of_another_library(kind):
    """Its matrices and its CIELAB; the numbers of sRGB to XYZ are rounded to four digits here."""
    told = {"name": "sRGB1+CVD", "cvd_type": f"{kind}omaly", "severity": 100}
    if kind != "none":
        matrix = machado_et_al_2009_matrix(told["cvd_type"], 100)
        np.testing.assert_allclose(DEFICIENCIES[kind], matrix, atol=1e-6)
    for colour in np.random.default_rng(7).integers(0, 256, (30, 3)):
        seen = colour / 255.0
        if kind != "none":
            seen = np.clip(cspace_convert(seen, told, "sRGB1"), 0.0, 1.0)
        np.testing.assert_allclose(
            lab(colour, kind), cspace_convert(seen, "sRGB1", "CIELab"), atol=0.1
        )


def lightness(colour) -> float:
    """CIE 1976 L* of a screen colour, 0 black to 100 white."""
    return float(lab(colour, "none")[0])


@pytest.fixture(params=PALETTES)
def palette(request) -> Palette:
    return PALETTES[request.param]


def pairs(palette: Palette):
    return combinations(zip(ROLES, palette.cans, strict=True), 2)


def test_one_look_per_role_in_order(palette):
    assert len(MARKS) == len(palette.cans) == len(ROLES)
    meanings = dict(zip(ROLES, MEANINGS, strict=True))
    assert meanings["tipped"] == "is down"
    assert meanings["could go over"] == "past its tip angle"
    assert meanings["snug"] == "no room to lean"


def test_no_state_of_a_can_is_a_verdict_on_a_stage():
    verdicts = {"tight", "held", "loose", "can tip", "crushed"}
    assert not any(verdict in words for words in (*ROLES, *MEANINGS) for verdict in verdicts)


def test_never_by_colour_alone():
    assert len(set(MARKS)) == len(ROLES)


def test_both_palettes_colour_the_same_roles():
    light, dark = PALETTES.values()
    assert light.inks.keys() == dark.inks.keys()


def test_apart_in_grey(palette):
    for (a, one), (b, other) in pairs(palette):
        assert abs(lightness(one.fill) - lightness(other.fill)) >= 8.0, (a, b)


@pytest.mark.parametrize("kind", DEFICIENCIES)
def test_apart_with_a_colour_vision_deficiency(palette, kind: str):
    for (a, one), (b, other) in pairs(palette):
        # 2.3 is a just noticeable difference (CIE 1976); marks in a crowd want many of them
        assert np.linalg.norm(lab(one.fill, kind) - lab(other.fill, kind)) >= 15.0, (a, b)


def test_marks_stand_out_from_their_cans(palette):
    for role, can in zip(ROLES, palette.cans, strict=True):
        assert abs(lightness(can.ink) - lightness(can.fill)) >= 40.0, role


def test_cans_stand_out_from_the_mat(palette):
    for ground in ("mat", "mat tint"):
        for role, can in zip(ROLES, palette.cans, strict=True):
            parts = (
                abs(lightness(palette.inks[ground]) - lightness(can.fill)),
                abs(lightness(palette.inks[ground]) - lightness(can.edge)),
            )
            assert max(parts) >= 10.0, (role, ground)


@pytest.mark.parametrize("kind", DEFICIENCIES)
@pytest.mark.parametrize(
    ("ink", "ground"),
    [("lean", "panel"), ("balance", "panel"), ("can line", "panel"), ("wire", "panel"),
     ("hold-down", "panel"), ("kick", "panel"), ("wire", "mat"), ("bound", "mat")],
)  # fmt: skip
def test_lines_stand_out_from_their_ground(palette, kind: str, ink: str, ground: str):
    """Contrast at least 3 to 1, the usual floor for parts of a picture (W3C, WCAG 2)."""
    y = sorted(_luminance(palette.inks[name], kind) for name in (ink, ground))
    assert (y[1] + 0.05) / (y[0] + 0.05) >= 3.0


@pytest.mark.parametrize(
    ("ink", "ground"),
    [("text", "panel"), ("quiet", "panel"), ("text", "chosen"), ("quiet", "chosen"),
     ("on dark", "panel head"), ("quiet on dark", "panel head"), ("caution text", "caution"),
     ("alarm", "panel"), ("good", "panel"), ("text", "button"), ("hint", "panel head"),
     ("alarm", "card"), ("quiet", "card"), ("alarm", "chosen"),
     ("on could go over", "could go over")],
)  # fmt: skip
def test_text_can_be_read(palette, ink: str, ground: str):
    """Contrast at least 4.5 to 1, the usual floor for text (W3C, WCAG 2, from memory)."""
    y = sorted(_luminance(palette.inks[name]) for name in (ink, ground))
    assert (y[1] + 0.05) / (y[0] + 0.05) >= 4.5


def _luminance(colour, kind: str = "none") -> float:
    part = np.asarray(colour) / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return float(TO_XYZ[1] @ np.clip(np.asarray(DEFICIENCIES[kind]) @ linear, 0.0, 1.0))
