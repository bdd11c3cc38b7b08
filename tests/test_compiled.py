"""A kernel is one source: compiled it gives what it gives as Python, its helpers with it."""

from __future__ import annotations

import math
import os
import pickle
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numba
import numpy as np
import pytest
from numba.core import caching
from numba.core.base import BaseContext

from packsim.compiled import KERNELS, compiled, kernel
from packsim.compiling import FIRST_TIME, ready_to_compile

ROOT = Path(__file__).resolve().parents[1]


@kernel
def _longest(one: float, other: float) -> float:
    return max(math.hypot(one, 1.0), other)


@kernel
def longest_of(values: np.ndarray) -> float:
    found = 0.0
    for value in values:
        found = _longest(value, found)
    return found


def test_a_kernel_and_the_kernel_it_calls_give_the_same_compiled() -> None:
    values = np.array([0.5, 3.0, 2.0])
    plain = longest_of(values)
    fast = compiled(longest_of)
    assert fast(values) == plain == math.hypot(3.0, 1.0)
    assert compiled(longest_of) is fast
    assert hasattr(fast, "py_func")


def test_what_needs_no_kernel_does_not_import_numba() -> None:
    code = "import packsim, packsim.cli.app, sys; print('numba' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@kernel
def half_of(value: float) -> float:
    return value / 2.0


@pytest.mark.parametrize(
    ("where", "name"),
    [(caching.FunctionCache, "_load_overload"), (caching.IndexDataCacheFile, "_load_index")],
)
def test_an_end_while_machine_code_is_read_is_not_taken_for_half_a_file(
    monkeypatch: pytest.MonkeyPatch, where: type, name: str
) -> None:
    """What is raised while C unpickles comes out as a `SystemError`."""

    def ended(*_: object) -> None:
        raise SystemError("returned a result with an exception set") from SystemExit(143)

    monkeypatch.setattr(where, name, ended)
    monkeypatch.setitem(KERNELS, half_of, None)
    with pytest.raises(SystemExit):
        compiled(half_of)(3.0)


def test_what_is_kept_is_read_without_readying_the_compiler(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """That takes longer than reading every kernel of a run."""

    def readied(_: object) -> None:
        raise AssertionError

    compiled(half_of)(3.0)  # kept from here on
    monkeypatch.setitem(KERNELS, half_of, None)
    monkeypatch.setattr(BaseContext, "refresh", readied)
    assert compiled(half_of)(3.0) == 1.5


MATRICES = """
import sys
import numba, numpy as np
{first}
from packsim.compiled import compiled
from packsim.spray.in_place import stretch_at
print(compiled(stretch_at)(np.array([1.0, 2.0]), 1.5, 0), "scipy.linalg" in sys.modules)
import scipy.linalg
print(numba.njit(lambda a: a @ a)(np.eye(2)).sum(), scipy.linalg.det(np.eye(2)))
"""


@pytest.mark.parametrize("first", ["", pytest.param("import scipy.linalg", marks=pytest.mark.all)])
def test_kernels_do_without_linear_algebra_and_leave_it_to_others(first: str) -> None:
    words = [sys.executable, "-c", MATRICES.format(first=first)]
    done = subprocess.run(words, capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.split() == ["1", str(bool(first)), "2.0", "1.0"]


def test_an_import_that_is_broken_off_is_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "numba", None)
    with pytest.raises(ImportError):
        ready_to_compile()
    assert sys.modules.get("scipy.linalg", sys) is not None


SMALL = """
import os
import numpy as np
import pytest
from packsim.compiled import compiled, kernel
from helper import half

@kernel
def sum_of(values):
    found = 0.0
    for value in values:
        found += half(value)
    return found

values = np.array([1, 3] if "WHOLE" in os.environ else [1.0, 3.0])
print(compiled(sum_of)(values), end="")
"""

HELPER = """
from packsim.compiled import kernel

@kernel
def half(value):
    return value * SHARE

SHARE = 0.5
"""


def small(folder: Path, helper: str = HELPER, **environment: str) -> tuple[str, str]:
    """Result and notice of a program of two files with one kernel in each."""
    put(folder, helper)
    return run_there(folder, **environment)


def put(folder: Path, helper: str = HELPER) -> None:
    folder.mkdir(exist_ok=True)
    (folder / "helper.py").write_text(helper)
    (folder / "small.py").write_text(SMALL)


def run_there(folder: Path, **environment: str) -> tuple[str, str]:
    run = [sys.executable, "-c", "import small"]
    # Python tells a changed file by its second and its size: none of its own is kept, so that it is
    # read anew also where both are as before
    room = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", **environment}
    room["PYTHONPATH"] = f"{folder}{os.pathsep}{ROOT}"
    done = subprocess.run(run, capture_output=True, text=True, check=True, cwd=folder, env=room)
    return done.stdout, done.stderr


@pytest.mark.parametrize(
    "change",
    [
        ("SHARE = 0.5", "SHARE = 2.0"),
        pytest.param(("* SHARE", "* 4.0 * SHARE"), marks=pytest.mark.all),
    ],
)
def test_the_second_run_reads_the_disk_and_a_change_in_another_file_is_compiled_anew(
    tmp_path: Path, change
) -> None:
    assert small(tmp_path) == ("2.0", FIRST_TIME + "\n")
    assert small(tmp_path) == ("2.0", "")
    assert small(tmp_path, HELPER.replace(*change)) == ("8.0", FIRST_TIME + "\n")


def unwritable(folder: Path) -> str:
    """A place where no folder can be made, whoever asks: it is a file."""
    folder.write_text("")
    return str(folder)


@pytest.mark.parametrize("times", [1, pytest.param(2, marks=pytest.mark.all)])
def test_without_a_folder_to_write_it_compiles_in_memory(tmp_path: Path, times: int) -> None:
    """numba's folder beside the source, the user's cache and the home are all files."""
    (tmp_path / "code").mkdir()
    unwritable(tmp_path / "code" / "__pycache__")
    home = unwritable(tmp_path / "home")
    for _ in range(times):
        got = small(tmp_path / "code", HOME=home, XDG_CACHE_HOME=home, LOCALAPPDATA=home)
        assert got == ("2.0", FIRST_TIME + "\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["code", "home"]


@pytest.mark.all
def test_for_a_user_without_a_home_it_compiles_in_memory(tmp_path: Path) -> None:
    (tmp_path / "code").mkdir()
    unwritable(tmp_path / "code" / "__pycache__")
    place = dict.fromkeys(("HOME", "USERPROFILE"), "~") | {"XDG_CACHE_HOME": ""}
    assert small(tmp_path / "code", **place) == ("2.0", FIRST_TIME + "\n")
    assert not (tmp_path / "code" / "~").exists()


@pytest.mark.all
def test_the_users_folder_serves_where_the_package_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "code").mkdir()
    unwritable(tmp_path / "code" / "__pycache__")
    place = {"HOME": str(tmp_path / "home"), "LOCALAPPDATA": str(tmp_path / "home")}
    (tmp_path / "home").mkdir()
    assert small(tmp_path / "code", **place)[1] == FIRST_TIME + "\n"
    assert small(tmp_path / "code", **place) == ("2.0", "")


@pytest.mark.all
def test_processes_that_start_together_share_the_folder(tmp_path: Path) -> None:
    put(tmp_path)  # once: a file that another writes at the time is read empty
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda _: run_there(tmp_path), range(4)))
    assert [out for out, _ in found] == ["2.0"] * 4
    assert small(tmp_path) == ("2.0", "")


@pytest.mark.all
def test_half_a_file_and_machine_code_for_other_arguments_are_not_used(tmp_path: Path) -> None:
    """What a process may find where another one writes at the same time."""
    small(tmp_path)
    small(tmp_path, WHOLE="yes")
    floats, whole = sorted((tmp_path / "__pycache__").glob("small.sum_of*.nbc"))
    for wrong in (whole.read_bytes(), floats.read_bytes()[:1000]):
        floats.write_bytes(wrong)
        assert small(tmp_path) == ("2.0", FIRST_TIME + "\n")
        assert small(tmp_path) == ("2.0", "")


@pytest.mark.all
@pytest.mark.parametrize("cut", [True, False])
def test_a_list_of_machine_code_that_cannot_be_read_is_begun_anew(
    tmp_path: Path, cut: bool
) -> None:
    """Cut off by a crash, or left by a version of the program that had other modules."""
    small(tmp_path)
    (index,) = (tmp_path / "__pycache__").glob("small.sum_of*.nbi")
    version = pickle.dumps(numba.__version__)
    index.write_bytes(index.read_bytes()[:-20] if cut else version + b"cgone\nGone\n.")
    assert small(tmp_path) == ("2.0", FIRST_TIME + "\n")
    assert small(tmp_path) == ("2.0", "")
