"""Inner loops are written once, in plain Python; numba compiles them where many cans are asked.

A kernel is a function of numbers and arrays that `kernel` marks. Called as it stands it is Python,
which is quick enough for a handful of cans, needs no numba, and is what the tests of small
cases run. `compiled` hands out the same source compiled; numba keeps the machine code on disk: in
the package's folder, in the user's where that cannot be written, and nowhere if neither can.
"""

from __future__ import annotations

import hashlib
import os
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import active_count
from types import CodeType, FunctionType, ModuleType
from typing import Any, TypeVar, cast

import numpy as np

KERNELS: dict[FunctionType, Any] = {}
"""Every marked function, in the order of reading, with its compiled self once there is one."""

_WITHIN: set[FunctionType] = set()

_HOUR_S = 3600.0

_KEPT_BYTES = 31 * 2**20
"""Arrays as large as one that was freed before are kept by the C library of Linux for the next ones
(below 32 MiB); others it takes from the system anew, which writes zeros to them: for a picture of
15,000 cans that takes as long as its leans."""

FIRST_TIME = "packsim: compiling its inner loops, once on this machine; this takes some seconds"

Function = TypeVar("Function", bound=Callable[..., Any])


def kernel(function: Function) -> Function:
    """Mark a function as a kernel: numbers and arrays only, calling nothing but other kernels.

    Parameters
    ----------
    function : callable
        What `numba.njit` can compile. Kernels it calls are marked before it.

    Returns
    -------
    callable
        The function itself, unchanged.
    """
    if not isinstance(function, FunctionType):
        raise TypeError(f"a kernel is a plain function, not {function!r}")
    KERNELS[function] = None
    return function


def within(function: Function) -> Function:
    """Mark a kernel whose machine code stands within that of each kernel that calls it.

    For small ones of an inner loop that get a tuple of arrays: handing it on takes longer than they
    do, and what the compiler does unasked may turn with a word in the caller.

    Parameters
    ----------
    function : callable
        As for `kernel`.

    Returns
    -------
    callable
        The function itself, unchanged.
    """
    _WITHIN.add(cast(FunctionType, function))
    return kernel(function)


def compiled(function: Function) -> Function:
    """Return a kernel compiled: the same source, the same answers, a hundred times the speed.

    The first call in a process imports numba (about 0.5 s of CPU); the first on a machine compiles
    (seconds), and says so on the screen for errors, but in a process that others started.

    Parameters
    ----------
    function : callable
        A function marked with `kernel`.

    Returns
    -------
    callable
        Its compiled self; asked again, the same object.
    """
    if not isinstance(function, FunctionType):
        return function  # in a module of kernels the name already means the compiled self
    if KERNELS[function] is None:
        _compile_all()
    return KERNELS[function]  # type: ignore[no-any-return]


_MANY_TURNS = 300_000
"""Turns of a kernel's inner loop that take plain Python about as long as importing numba."""


def run(function: Callable[..., Any], turns: int, *given: Any) -> Any:
    """Call a kernel, compiled if that pays: for many turns, or if numba is there anyway.

    Parameters
    ----------
    function : callable
        A function marked with `kernel`.
    turns : int
        How often its inner loop turns, roughly.
    *given
        Its arguments. Compiled it gets arrays that are contiguous and may be written to, so that
        it is compiled once; as plain Python lists in place of arrays of one dimension, which
        Python reads faster. So a kernel returns arrays of its own and changes none it is given.

    Returns
    -------
    object
        What the kernel returns.
    """
    many = turns > _MANY_TURNS or "numba" in sys.modules
    ready = _arrays_ready if many else _arrays_as_lists
    return (compiled(function) if many else function)(*map(ready, given))


def _arrays_ready(value: Any) -> Any:
    return np.require(value, None, ["C", "W"]) if isinstance(value, np.ndarray) else value


def _arrays_as_lists(value: Any) -> Any:
    return value.tolist() if isinstance(value, np.ndarray) and value.ndim == 1 else value


def _compile_all() -> None:
    """Compile what is marked and not compiled yet.

    Numba looks a kernel's helpers up by name in its module when it is first called, so the names in
    the modules of kernels are pointed at the compiled selves.
    """
    from multiprocessing import parent_process

    numba = _numba()
    np.empty(_KEPT_BYTES, np.uint8)  # freed at once
    from numba.core import event

    if parent_process() is None and not any(KERNELS.values()):  # of many at work one speaks
        event.register("numba:compile", _notice(event.Listener))  # type: ignore[no-untyped-call]
    stamps = {function: _stamp(function) for function, done in KERNELS.items() if done is None}
    for function, stamp in stamps.items():
        KERNELS[function] = numba.njit(nogil=True, forceinline=function in _WITHIN)(function)
        _keep_on_disk(KERNELS[function], stamp)
    for module in {function.__module__ for function in KERNELS}:
        names = vars(sys.modules[module])
        for name, value in list(names.items()):
            if isinstance(value, FunctionType) and value in KERNELS:
                names[name] = KERNELS[value]


def _numba() -> Any:
    """Import numba, which looks whether scipy's linear algebra is there: a quarter of the time.

    No kernel multiplies matrices. Other functions in this process that do still can: numba imports
    it again for them.
    """
    unwanted = "scipy.linalg"
    if unwanted not in sys.modules and active_count() == 1:  # no thread that may want it now
        sys.modules[unwanted] = cast(ModuleType, None)  # an import of it fails
    try:
        import numba
        import numba.np.arraymath  # what looks for it, else at the first call of a kernel
    finally:
        if unwanted in sys.modules and sys.modules[unwanted] is None:
            del sys.modules[unwanted]
    return numba


def _notice(listener: Any) -> Any:
    """Return what says, once in a process, that a kernel is compiled and not read from the disk."""

    class Notice(listener):  # type: ignore[misc]
        said = False

        def on_start(self, event: Any) -> None:
            if not self.said:
                sys.stderr.write(FIRST_TIME + "\n")
            self.said = True

        def on_end(self, event: Any) -> None:
            pass

    return Notice()


def _stamp(function: FunctionType) -> str:
    """Return a digest of a kernel, the kernels it calls and the numbers it reads.

    Machine code has its helpers within it; numba's own stamp is of the kernel's file alone.
    """
    digest = hashlib.sha256(f"{_text(function.__code__)}{function in _WITHIN}".encode())
    for name in function.__code__.co_names:
        value = function.__globals__.get(name)
        value = getattr(value, "py_func", value)
        if isinstance(value, FunctionType) and value in KERNELS:
            digest.update(_stamp(value).encode())
        elif isinstance(value, int | float | tuple):
            digest.update(repr(value).encode())
    return digest.hexdigest()


def _text(code: CodeType) -> str:
    constants = [_text(one) if isinstance(one, CodeType) else one for one in code.co_consts]
    return repr((code.co_code, code.co_names, constants))


def _keep_on_disk(fast: Any, stamp: str) -> None:
    """Keep the machine code of a kernel on disk where a folder can be written.

    Processes share the folder. Numba replaces its files whole, but two that compile one kernel for
    two kinds of arguments at once may both take one name: what is read back is checked. A full or
    broken disk, or what another version of the program left, costs the compiling, not the answer.
    """
    from numba.core import caching

    cache: Any = caching.FunctionCache
    index: Any = caching.IndexDataCacheFile

    class Index(index):  # type: ignore[misc]
        def _load_index(self) -> Any:
            try:
                return super()._load_index()
            except Exception:  # half a file, or one that names modules that are gone
                return {}

    class Kept(cache):  # type: ignore[misc]
        def load_overload(self, sig: Any, target_context: Any) -> Any:
            try:
                found = super().load_overload(sig, target_context)
            except Exception:  # whatever unpickling half a file raises
                return None
            asked = tuple(getattr(sig, "args", sig))
            return found if found is not None and found.signature.args == asked else None

        def save_overload(self, sig: Any, data: Any) -> None:
            with suppress(OSError):
                super().save_overload(sig, data)
                for part in Path(self.cache_path).glob("*.tmp.*"):
                    if abs(time.time() - part.stat().st_mtime) > _HOUR_S:  # of one that was killed
                        part.unlink()

    beside = Path(fast.py_func.__code__.co_filename).with_name("__pycache__")
    with suppress(RuntimeError):  # no folder can be written
        if not os.access(beside, os.W_OK | os.X_OK):
            Path.home()  # for a user who has none numba would make a folder called ~
        kept = Kept(fast.py_func)
        kept._cache_file = Index(kept.cache_path, kept._impl.filename_base, stamp)
        fast._cache = kept
