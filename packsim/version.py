"""Which version of the program this is."""

from importlib.metadata import PackageNotFoundError, version


def program_version() -> str:
    """Return the version of this program, "unknown" for a checkout that was never installed."""
    try:
        return version("side-guide-simulator")
    except PackageNotFoundError:
        return "unknown"
