"""Whom the live eye believes: a body that moves, grows or turns as no body can is lost."""

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from chordline.adapters.pose import live_eye
from chordline.adapters.pose.detection import Candidate
from chordline.adapters.pose.fusion import Fused
from chordline.adapters.pose.live_place import LivePlace
from chordline.adapters.pose.roi import Roi
from chordline.application.live.ports import LiveBody, Lost, Watch
from chordline.conventions import LANDMARKS

RGB = np.zeros((480, 640, 3), np.uint8)
ROI = Roi(320.0, 240.0, 300.0)
STEP_S = 0.1


def body(*, at_x_px: float = 320.0, length_px: float = 200.0, apart_pct: float = 1.0) -> Fused:
    """Somebody who lies level."""
    xy = np.full((len(LANDMARKS), 2), 240.0)
    xy[:, 0] = at_x_px + np.linspace(-0.2, 0.2, len(LANDMARKS)) * length_px
    xy[LANDMARKS.index("hip"), 0] = at_x_px
    return Fused(
        xy_px=xy,
        sd_px=np.ones(len(LANDMARKS)),
        sides_xy_px=np.stack([xy, xy]),
        near_side="left",
        near_confidence=0.9,
        mirror_disagreement_pct=apart_pct,
        length_px=length_px,
    )


def standing(one: Fused) -> Fused:
    hip = one.xy_px[LANDMARKS.index("hip")]
    return replace(one, xy_px=hip + (one.xy_px - hip)[:, ::-1])


class World:
    """What stands before the camera."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.there: Fused | None = None
        self.at_s = 0.0
        self.watch: Watch = live_eye.BlazePoseEye(
            SimpleNamespace(),  # type: ignore[arg-type]
            SimpleNamespace(),  # type: ignore[arg-type]
            let_go_s=1.0,
            forget_s=4.0,
            notice_s=1.5,
        ).watch()

        def look(*_: Any, **__: Any) -> Any:
            presence = 0.0 if self.there is None else 1.0
            return SimpleNamespace(presence=presence, length_px=lambda: 200.0, next_roi=ROI)

        def settle(*_: Any) -> Any:
            return None if self.there is None else (look(), look())

        def detect(*_: Any, **__: Any) -> list[Candidate]:
            return [] if self.there is None else [Candidate(ROI, 0.9)]

        monkeypatch.setattr(live_eye, "look", look)
        monkeypatch.setattr(live_eye, "settle", settle)
        monkeypatch.setattr(live_eye, "detect_in", detect)
        monkeypatch.setattr(live_eye, "fuse", lambda _: self.there)
        monkeypatch.setattr(live_eye, "weigh_sides", lambda _: None)
        monkeypatch.setattr(live_eye, "guess_near_side", lambda _: ("right", 0.9))

    def see(self, there: Fused | None, frames: int = 1) -> LiveBody | Lost:
        self.there = there
        for _ in range(frames):
            self.at_s += STEP_S
            seen = self.watch.see(
                RGB, at_s=self.at_s, fits=lambda cranial: abs(cranial[0]) > abs(cranial[1])
            )
        return seen


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> World:
    return World(monkeypatch)


def test_a_body_that_lies_there_is_followed_with_its_side(world: World) -> None:
    seen = world.see(body(), 3)
    assert isinstance(seen, LiveBody)
    assert seen.near_log_odds == pytest.approx(-math.log(9.0))


@pytest.mark.parametrize(
    "other", [body(at_x_px=520.0), body(length_px=300.0), body(apart_pct=20.0)]
)
def test_who_is_elsewhere_larger_or_uncertain_is_not_believed_to_be_her(
    world: World, other: Fused
) -> None:
    world.see(body(), 3)
    assert world.see(other) == "hidden"
    assert isinstance(world.see(body()), LiveBody)


def test_who_got_up_is_let_go_after_a_moment(world: World) -> None:
    world.see(body(), 3)
    assert isinstance(world.see(standing(body()), 5), LiveBody)
    assert world.see(standing(body()), 10) == "not-in-position"


def test_whoever_lies_there_later_may_be_somebody_else(world: World) -> None:
    world.see(body(), 3)
    assert world.see(None, 10) == "hidden"
    assert world.see(None, 40) == "nobody"
    assert isinstance(world.see(body(at_x_px=520.0, length_px=300.0)), LiveBody)


def test_a_place_allows_more_the_longer_it_was_not_seen_but_never_everything() -> None:
    was = LivePlace(0.0, (100.0, 100.0), 100.0)
    assert not was.may_become(LivePlace(0.1, (180.0, 100.0), 100.0))
    assert was.may_become(LivePlace(1.0, (180.0, 100.0), 100.0))
    assert not was.may_become(LivePlace(60.0, (300.0, 100.0), 100.0))
    assert not was.may_become(LivePlace(60.0, (100.0, 100.0), 60.0))
