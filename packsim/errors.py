"""What can go wrong, in few kinds: one root so that callers can catch everything of ours."""

from __future__ import annotations

__all__ = ["ConvergenceError", "InputError", "PacksimError"]


class PacksimError(Exception):
    """Root of every error this package raises on purpose."""


class InputError(PacksimError, ValueError):
    """A value from outside is not acceptable.

    Parameters
    ----------
    key : str
        Path of the value, e.g. ``stages[1].clear_width``.
    got : object
        The offending value, shown as it came.
    allowed : str
        What would be accepted, e.g. ``a length above 0 mm``.
    file : str, optional
        File the value came from.

    Examples
    --------
    >>> str(InputError("mat.width", "-3 mm", "a length above 0 mm", file="line.toml"))
    'line.toml: mat.width: got -3 mm; needs a length above 0 mm'
    """

    def __init__(self, key: str, got: object, allowed: str, file: str | None = None) -> None:
        self.key = key
        self.got = got
        self.allowed = allowed
        self.file = file
        super().__init__(key, got, allowed, file)

    def __str__(self) -> str:
        where = ": ".join(part for part in (self.file, self.key) if part)
        return f"{where}: got {self.got}; needs {self.allowed}"

    def in_file(self, file: str) -> InputError:
        """Return the same complaint with the file it belongs to."""
        return InputError(self.key, self.got, self.allowed, file=file)

    def under(self, prefix: str) -> InputError:
        """Return the same complaint with ``prefix`` put before its key."""
        return InputError(f"{prefix}.{self.key}", self.got, self.allowed, file=self.file)


class ConvergenceError(PacksimError, RuntimeError):
    """An iteration did not reach its stated tolerance."""
