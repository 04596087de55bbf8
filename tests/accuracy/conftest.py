"""The estimator with the installed weights, opened once."""

import pytest

from demo_screen import Remembering, remembering


@pytest.fixture(scope="session")
def poses() -> Remembering:
    return remembering()
