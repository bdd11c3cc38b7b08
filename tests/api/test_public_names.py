"""What the package offers by name, and what it does not drag in."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

import packsim

HEAVY = ("pygame", "matplotlib", "pint", "pydantic", "jinja2", "scipy", "ezdxf", "imageio", "PIL")

FIRST = sorted({home: name for name, (home, _) in packsim._HOMES.items()}.values())
"""One public name of each module that has one: a second name loads nothing more."""


def python(code: str, root: Path) -> str:
    result = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        cwd=root,
    )
    assert result.returncode == 0, result.stderr
    return result.stdout


def loaded(code: str, root: Path) -> set[str]:
    """Names of all modules that a piece of code has loaded."""
    return set(
        json.loads(python(f"{code}\nimport json, sys; print(json.dumps(list(sys.modules)))", root))
    )


@pytest.mark.parametrize("name", packsim.__all__)
def test_every_public_name_is_there_and_documented(name: str) -> None:
    thing = getattr(packsim, name)
    assert thing.__doc__
    assert name in dir(packsim)


def test_the_list_is_sorted_and_every_name_has_a_home() -> None:
    assert sorted(packsim.__all__) == packsim.__all__
    assert set(packsim._HOMES) == set(packsim.__all__)
    assert {"study_line", "load_scenario", "RunOrder"} < set(packsim.__all__)


def test_a_name_that_is_not_there_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'stduy'"):
        packsim.stduy  # noqa: B018  (asking is the test)
    assert not hasattr(packsim, "__wrapped__")


def test_importing_the_package_is_cheap(root: Path) -> None:
    modules = loaded("import packsim", root)
    assert not modules & {*HEAVY, "numpy", "shapely", "typer", "rich"}
    assert {m for m in modules if m.startswith("packsim.")} == set()


def test_a_study_from_nouns_loads_nothing_for_reports(root: Path) -> None:
    modules = loaded("from packsim import study_line, Scenario, pack_between, find_voids", root)
    assert not modules & {"pygame", "matplotlib", "pydantic", "jinja2", "typer", "rich"}


ALONE = """
import sys
for code in {pieces!r}:
    for module in [each for each in sys.modules if each.partition(".")[0] == "packsim"]:
        del sys.modules[module]
    exec(code, {{}})
"""


def each_alone(pieces: list[str], root: Path) -> list[str]:
    """Lines printed by pieces of code, each run with nothing of packsim loaded before."""
    return python(ALONE.format(pieces=pieces), root).splitlines()


@pytest.mark.all
def test_single_imports_work_alone(root: Path) -> None:
    """With packsim loaded, one would ride on what another has loaded."""
    code = [f"from packsim import {name} as it; print(it.__module__)" for name in FIRST]
    for name, home in zip(FIRST, each_alone(code, root), strict=True):
        assert home.startswith(packsim._HOMES[name][0])


@pytest.mark.all
def test_study_is_the_function_whatever_came_first(root: Path) -> None:
    before = [
        "",
        "import packsim.study",
        "import packsim.study.study",
        "from packsim.study import study_line",
        "import packsim.cli.app",
        "import packsim.cli.commands",
        "from packsim import *",
    ]
    code = "from packsim import study_line\nimport packsim\n"
    code += "print(callable(study_line), packsim.study_line is study_line, study_line.__module__)"
    found = each_alone([f"{each}\n{code}" for each in before], root)
    assert found == ["True True packsim.study.study"] * len(before)


def loaded_by(root: Path, *words: str) -> set[str]:
    """Names of all modules that a command has loaded."""
    code = (
        f"import sys\nsys.argv = ['packsim', *{words!r}]\n"
        "from packsim.cli.app import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert end.code in (0, None)\n"
        "print()\nprint('LOADED', *sorted(sys.modules))"
    )
    out = python(code, root)
    assert words[0].strip("-") in out
    return set(out[out.index("LOADED") :].split())


def test_help_loads_neither_numbers_nor_reports(root: Path) -> None:
    assert not loaded_by(root, "--help") & {*HEAVY, "numpy", "shapely", "rich.markdown"}


@pytest.mark.parametrize(
    "words",
    [
        pytest.param(("study", "{}"), marks=pytest.mark.all),
        pytest.param(("change", "{}", "--to", "sleek body"), marks=pytest.mark.all),
        ("why", "{}"),
    ],
)
def test_an_answer_waits_for_nothing_it_does_not_need(words: tuple[str, ...], root: Path) -> None:
    """Passages, the disk they are kept on and drawings cost more to load than an answer."""
    name = "swing_line" if "--to" in words else "first_look"
    file = str(root / "scenarios" / f"{name}.toml")
    modules = loaded_by(root, *(word.format(file) for word in words))
    heavy = {*HEAVY, "numba", "joblib"}
    late = {"packsim.passage", "packsim.chance", "packsim.report.charts.chart_frame"}
    assert modules & (heavy | late) == {"pydantic"}


def test_the_types_are_published() -> None:
    folder = Path(packsim.__file__).parent
    assert (folder / "py.typed").is_file()
    assert (folder / "__init__.pyi").is_file()


def test_no_room_loads_another_by_its_name(root: Path) -> None:
    """An arrow hidden from the import layers; only the top of the package hands out names."""
    found = {
        str(path.relative_to(root))
        for path in (root / "packsim").rglob("*.py")
        if re.search(r"import_module|__import__", path.read_text(encoding="utf-8"))
    }
    assert found == {"packsim/__init__.py"}
