"""The estimator with the installed weights, opened once."""

import os

import pytest

from chordline.adapters.pose.estimator import BlazePoseEstimator
from chordline.adapters.pose.weights import choose_weights
from chordline.errors import WeightsError


@pytest.fixture(scope="session")
def poses() -> BlazePoseEstimator:
    try:
        return BlazePoseEstimator.from_weights(choose_weights())
    except WeightsError as error:
        if os.environ.get("CHORDLINE_REQUIRE_WEIGHTS") == "1":
            pytest.fail(f"{error} (CHORDLINE_REQUIRE_WEIGHTS is set)")
        pytest.skip(str(error))
