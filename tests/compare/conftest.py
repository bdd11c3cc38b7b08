"""Passages and drawn answers of this folder are kept for it alone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True, scope="package")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PACKSIM_CACHE", str(tmp_path_factory.mktemp("compared")))
        yield
