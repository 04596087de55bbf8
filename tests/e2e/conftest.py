"""A browser and the editor's page, once a module."""

from collections.abc import Iterator
from typing import Any

import pytest
from editor_desk import Desk
from editor_pages import launched, served


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served() as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with launched() as browser:
        yield browser


@pytest.fixture
def desk(browser: Any, address: str) -> Iterator[Desk]:
    desk = Desk(browser, address)
    desk.mount()
    yield desk
    assert desk.faults == []
    desk.context.close()
