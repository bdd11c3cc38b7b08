"""Values nobody should write, and values that are right but rare."""

from __future__ import annotations

import re

import numpy as np

from tests.fuzz.case import chance, pick

NUMBERS = ("0", "-0", "-1", "1", "1e-300", "1e300", "1e400", "-1e9", "5e-324", "nan", "inf", "-inf",
           "9" * 30, "9" * 5000, "0x10", "1_000", ".5", "5.", "1,5", "1.391,5", "١٢", "½", "3 1/2",
           "1/0", "0.1", "2", "1000", "66.09", "1e-9", "100000")  # fmt: skip
UNITS = ("mm", "m", "in", "ft", "µm", "degC", "°F", "K", "bar", "psi", "N", "N/m", "kg", "g", "%",
         "mJ", "1/s", "m/min", "deg", "L/min", "kg/m^2", "", "furlong", "mm mm", "mm^-9",
         "%%")  # fmt: skip
TEXTS = ("", " ", "?", "none", "any", "auto", "±", "± ±", "±1", "to", "0 to", "to 5 mm", "\u202e",
         "\x00", "\x1b[31mred", "é" * 300, "名", "\ud7ff", "\ufeff", "\u2028", "<script>", "=1+1",
         "a" * 9000, "{lanes}", "[b]", "%s", "../..", "/dev/zero", "us_12oz_std", "oven", "cone",
         "true", "[[stages]]", '"', "'", "\\", "\\u0000", "\n")  # fmt: skip


def quantity(rng: np.random.Generator) -> str:
    """A number and a unit, with how well it is known, or a list or range of such."""
    many = pick(rng, [1, 1, 1, 1, 2, 3, 12, 400])
    unit = pick(rng, UNITS)
    texts = [f"{pick(rng, NUMBERS)} {unit}".strip() for _ in range(many)]
    text = pick(rng, [", ", ", ", " to ", "; ", " "]).join(texts)
    if chance(rng, 0.35):
        sign = pick(rng, [" ± ", "±", " +/- ", " +- ", " ±"])
        text += f"{sign}{pick(rng, NUMBERS)} {pick(rng, [unit, unit, '%', pick(rng, UNITS)])}"
    return text.strip() + pick(rng, ["", "", "", " ", " (assumed)", "*", " ± 1 mm"])


def nudged(rng: np.random.Generator, text: str) -> str:
    """A text with one number, unit or sign of it changed: near what is right."""
    found = list(re.finditer(r"\d+(?:\.\d+)?", text))
    if found and chance(rng, 0.6):
        one = found[int(rng.integers(len(found)))]
        size = pick(rng, [-1.0, 0.0, 0.01, 0.5, 0.9, 0.99, 1.01, 1.1, 2.0, 10.0, 1000.0, 1e6])
        return text[: one.start()] + f"{float(one[0]) * size:.6g}" + text[one.end() :]
    if chance(rng, 0.5):
        return f"{text} ± {pick(rng, ['1', '0.5', '0', '1e9', '-1'])} {pick(rng, UNITS)}"
    return re.sub(r"[a-zA-Z/%^]+$", lambda _: pick(rng, UNITS), text)


def value(rng: np.random.Generator, was: str = "") -> object:
    """Any value a file may have in the place of another."""
    if was and chance(rng, 0.5):
        return nudged(rng, was)
    kind = int(rng.integers(8))
    if kind < 3:
        return quantity(rng)
    if kind == 3:
        return pick(rng, TEXTS)
    if kind == 4:
        return pick(rng, [0, -1, 1, 2, 3, 10**6, 2**63, -(2**63), True, False, 10**400])
    if kind == 5:
        return pick(rng, [0.0, -1.5, 1e-300, 1e300, float("nan"), float("inf"), -float("inf")])
    if kind == 6:
        return [value(rng) for _ in range(int(rng.integers(4)))]
    return {pick(rng, ["a", "energy", "name", "", "é"]): value(rng) for _ in range(2)}


def written(value: object) -> str:
    """Return a value as TOML, escaping what must be; None becomes no value at all."""
    if value is None:
        return ""
    if isinstance(value, bool | float):
        return str(value).lower()
    if isinstance(value, list):
        return "[" + ", ".join(written(one) for one in value) + "]"
    if isinstance(value, dict):
        return (
            "{" + ", ".join(f"{quoted(key)} = {written(one)}" for key, one in value.items()) + "}"
        )
    return quoted(value) if isinstance(value, str) else str(value)


def quoted(text: str) -> str:
    plain = "".join(
        c if (c.isalnum() and c.isascii()) or c in " ._-" else f"\\U{ord(c):08x}" for c in text
    )
    return f'"{plain}"'
