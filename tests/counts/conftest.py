"""The invented line of the passage serves the counts too."""

from tests.passage.conftest import can, line  # noqa: F401
