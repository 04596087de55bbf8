"""What native code writes to standard error goes nowhere inside the block, and only there."""

import os

import pytest

from chordline.adapters.pose.quiet import without_announcements


def test_native_messages_are_dropped_inside_and_kept_outside(
    capfd: pytest.CaptureFixture[str],
) -> None:
    os.write(2, b"before ")
    with without_announcements():
        os.write(2, b"announcement ")
    os.write(2, b"after")
    assert capfd.readouterr().err == "before after"


def test_standard_error_comes_back_after_an_error(capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(ValueError, match="broken"), without_announcements():
        raise ValueError("broken")
    os.write(2, b"heard")
    assert capfd.readouterr().err == "heard"
