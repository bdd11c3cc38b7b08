"""The invented line of the passage serves the counts too."""

from tests.passage.conftest import can, line, tolerant_can  # noqa: F401
