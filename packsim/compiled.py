"""Inner loops are written once, in plain Python; numba compiles them where many cans are asked.

A kernel is a function of numbers and arrays that `kernel` marks. Called as it stands it is Python,
which is quick enough for a handful of cans, needs no numba, and is what the tests of small
cases run. `compiled` hands out the same source compiled; numba keeps the machine code on disk: in
the package's folder, in the user's where that cannot be written, and nowhere if neither can.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable
from types import CodeType, FunctionType
from typing import Any, TypeVar, cast

import numpy as np

KERNELS: dict[FunctionType, Any] = {}
"""Every marked function, in the order of reading, with its compiled self once there is one."""

_CALLED: dict[FunctionType, Any] = {}
"""Kernels as other kernels call them: nothing of Python can, which spares a tenth of compiling."""

_WITHIN: set[FunctionType] = set()

_HOW: dict[str, Any] = {"no_cfunc_wrapper": True, "error_model": "numpy"}
"""No kernel divides by 0, and none is called from C: what looks out for either takes a twentieth of
compiling."""

_KEPT_BYTES = 31 * 2**20
"""Arrays as large as one that was freed before are kept by the C library of Linux for the next ones
(below 32 MiB); others it takes from the system anew, which writes zeros to them: for a picture of
15,000 cans that takes as long as its leans."""

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
    known = cast(FunctionType, function)
    if KERNELS[known] is None:
        KERNELS[known] = _compiled(known)
    return KERNELS[known]  # type: ignore[no-any-return]


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


def _compiled(function: FunctionType) -> Any:
    """Return what compiles a kernel when it is first called, and keeps it on disk."""
    if not any(KERNELS.values()):
        from packsim.compiling import look_after_compiling

        np.empty(_KEPT_BYTES, np.uint8)  # freed at once
        look_after_compiling()
    import numba

    from packsim.kernel_files import keep_on_disk

    made = numba.njit(nogil=True, **_HOW)(_calling_compiled(numba, function))
    keep_on_disk(made, _stamp(function))
    return made


def _calling_compiled(numba: Any, function: FunctionType) -> FunctionType:
    """Return a kernel whose names of other kernels mean their compiled selves.

    Their machine code stands within that of the kernel, so they are not kept on disk.
    """
    names = dict(function.__globals__)
    for name, called in _called_by(function).items():
        if called not in _CALLED:
            how = numba.njit(forceinline=called in _WITHIN, no_cpython_wrapper=True, **_HOW)
            _CALLED[called] = how(_calling_compiled(numba, called))
        names[name] = _CALLED[called]
    return FunctionType(function.__code__, names, function.__name__)


def _called_by(function: FunctionType) -> dict[str, FunctionType]:
    named = {name: function.__globals__.get(name) for name in function.__code__.co_names}
    kernels = {name: one for name, one in named.items() if isinstance(one, FunctionType)}
    return {name: one for name, one in kernels.items() if one in KERNELS}


def _stamp(function: FunctionType) -> str:
    """Return a digest of a kernel, the kernels it calls and the numbers it reads.

    Machine code has its helpers within it; numba's own stamp is of the kernel's file alone.
    """
    digest = hashlib.sha256(f"{_text(function.__code__)}{function in _WITHIN}".encode())
    for called in _called_by(function).values():
        digest.update(_stamp(called).encode())
    for name in function.__code__.co_names:
        value = function.__globals__.get(name)
        if isinstance(value, int | float | tuple):
            digest.update(repr(value).encode())
    return digest.hexdigest()


def _text(code: CodeType) -> str:
    constants = [_text(one) if isinstance(one, CodeType) else one for one in code.co_consts]
    return repr((code.co_code, code.co_names, constants))
