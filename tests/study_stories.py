"""A club with measured photos, and coaches whose hands err by what is known."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from application_doubles import PRONE, FakePoses, body_of
from chordline.application.club.records import NewGymnast
from chordline.application.club.take_in import Incoming
from chordline.application.marks import HandMarks
from chordline.application.repeatability.mark_study import Place
from chordline.bootstrap import App
from chordline.core.body.measurement import Mark
from gym_site import jpeg

MONDAY = date(2025, 9, 1)
#: Where a mark counts for the angle: across the body, which lies along the picture.
JOINTS = ("malleolus", "knee", "hip", "shoulder", "hand")


@contextmanager
def open_club(
    folder: Path, *, gymnasts: int, tests: tuple[str, ...] = ("prone-overhead",)
) -> Iterator[App]:
    """A club whose gymnasts have one measured photo a test."""
    app = App(data=folder)
    app.__dict__["poses"] = FakePoses((body_of(PRONE),), shrink=1.0)
    # A forecast takes longer than all else here and is not looked at.
    app.__dict__["forecast_line"] = None
    with app.records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        girls = [
            tx.gymnasts.add(club.id, NewGymnast(f"Girl {i}", card=i + 1)) for i in range(gymnasts)
        ]
    for number, (girl, test) in enumerate((g, t) for g in girls for t in tests):
        take_in(app, girl.id, test, shade=number)
    work_off(app)
    yield app
    app.records.close()


def take_in(app: App, gymnast_id: int, test: str, *, shade: int) -> int:
    content = jpeg(shade % 200, size=(1400, 760 + shade // 200))
    incoming = Incoming(f"{test}.jpg", content, MONDAY, gymnast_id, test)
    return app.take_in_photo()(app.club().id, incoming, today=MONDAY).photo.id


def work_off(app: App) -> None:
    work = app.work_off()
    while work("test") is not None:
        pass


def body(rng: np.random.Generator) -> dict[str, float]:
    """How far each joint of a gymnast stands off the line that all share [px]."""
    return dict(zip(JOINTS, rng.normal(0.0, 12.0, len(JOINTS)), strict=True))


@dataclass(frozen=True)
class Hand:
    """A coach's hand: what she adds to the hip in every photo, and how she scatters [px]."""

    name: str
    scatter_px: float
    hip_px: float = 0.0

    def mark(self, shape: Mapping[str, float], rng: np.random.Generator) -> dict[str, Place]:
        return {
            joint: Place(
                PRONE[joint][0] + rng.normal(0.0, self.scatter_px),
                PRONE[joint][1]
                + shape[joint]
                + (self.hip_px if joint == "hip" else 0.0)
                + rng.normal(0.0, self.scatter_px),
            )
            for joint in JOINTS
        }


def mark_all(app: App, study_id: int, hands: list[Hand], *, seed: int, most: int = 1000) -> None:
    """Let coaches mark a study, each at most so many photos."""
    rng = np.random.default_rng(seed)
    study = app.mark_study()
    with app.records.reading() as tx:
        shapes = {photo: body(rng) for photo in tx.studies.get(study_id).photos}
    for hand in hands:
        coach = study.join(study_id, hand.name)
        for _ in range(most):
            task = study.next_task(study_id, coach)
            if task is None:
                break
            study.keep(task.id, hand.mark(shapes[task.photo_id], rng))


def take_twice(
    app: App, gymnasts: int, *, change_px: float, scatter_px: float, seed: int, test: str
) -> None:
    """Photograph gymnasts twice: the hips move by `change_px`, the marks scatter."""
    rng = np.random.default_rng(seed)
    hand = Hand("Kim", scatter_px)
    with app.records.reading() as tx:
        club = app.club()
        girls = [tx.gymnasts.named(club.id, f"Girl {i}")[0] for i in range(gymnasts)]
    photos = []
    for i, girl in enumerate(girls):
        shape = body(rng)
        for take in range(2):
            moved = {**shape, "hip": shape["hip"] + rng.normal(0.0, change_px)}
            photo_id = take_in(app, girl.id, test, shade=1000 + 2 * i + take)
            photos.append((photo_id, hand.mark(moved, rng)))
    work_off(app)
    sd_px = app.catalogue.setting("hand_mark_sd_px")
    for photo_id, places in photos:
        marks = {name: Mark(at.x_px, at.y_px, sd_px, "hand") for name, at in places.items()}
        with app.records.reading() as tx:
            near = tx.photos.view(photo_id).measurement.record["near_side"]  # type: ignore[union-attr]
        app.check_photo()(
            photo_id,
            HandMarks(near, None, marks),
            base_version=0,
            confirmed=True,
            author="Kim",
        )
