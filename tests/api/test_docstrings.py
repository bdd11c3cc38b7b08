"""Every public docstring against the signature it describes, by numpydoc.

One line is enough for what its name and types tell; a docstring that lists parameters lists all of
them, in order, and what comes back unless its first line says "Return ...". What `packsim` offers
by name always lists them.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pytest
from numpydoc.validate import Validator, validate

import packsim
import viewer

ALWAYS = {"GL03", "GL08", "PR02", "PR03", "PR05", "PR06", "PR10", "SS01", "SS02", "SS03", "SS06"}
LISTED = {"PR01", "PR07", "RT01", "RT03", "YD01"}
MODULES = [
    found.name
    for package in (packsim, viewer)
    for found in pkgutil.walk_packages(package.__path__, package.__name__ + ".")
    if not found.name.endswith("__main__")
]


def described(module: ModuleType) -> Iterator[tuple[str, Any]]:
    """Public functions and classes that a module defines, and public methods of those."""
    for name, thing in vars(module).items():
        own = getattr(thing, "__module__", None) == module.__name__
        if not own or name.startswith("_") or not (inspect.isclass(thing) or callable(thing)):
            continue
        yield name, thing
        for inner, member in vars(thing).items() if inspect.isclass(thing) else ():
            if not inner.startswith("_") and callable(getattr(thing, inner)):
                yield f"{name}.{inner}", getattr(member, "__func__", member)


def test_docstrings_say_what_the_signatures_say(monkeypatch: pytest.MonkeyPatch) -> None:
    # where a docstring stands and what comments excuse: half of the time, for nothing asked here
    monkeypatch.setattr(Validator, "source_file_def_line", 1)
    monkeypatch.setattr("numpydoc.validate.extract_ignore_validation_comments", lambda *_: {})
    assert [wrong for name in MODULES for wrong in wrong_in(name)] == []


def wrong_in(name: str) -> Iterator[str]:
    """What is wrong with the docstrings of a module."""
    for place, thing in described(importlib.import_module(name)):
        full = "Parameters\n" in (thing.__doc__ or "") or place in packsim.__all__
        codes = ALWAYS | LISTED if full else ALWAYS
        if (thing.__doc__ or "").startswith("Return "):
            codes = codes - {"RT01"}
        for code, said in validate(f"{name}.{place}")["errors"]:
            if code in codes:
                yield f"{name}.{place}: {code} {said}"
