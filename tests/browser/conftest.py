"""Pages that several tests of a file share, each with papers of its own on them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from shared.pages import Pages, Visitor, pages_of


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pages]:
    """Pages over an empty folder."""
    with pages_of(tmp_path_factory.mktemp("papers")) as served:
        yield served


@pytest.fixture
def visitor(pages: Pages) -> Visitor:
    """Somebody who was let in."""
    return pages.inside
