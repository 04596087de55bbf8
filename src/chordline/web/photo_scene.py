"""What the mark editor shows of one photo, put together from its records."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from chordline.application.choose import choose_card
from chordline.application.club.pictures import Rendition
from chordline.application.club.views import PhotoView
from chordline.application.mark_editor_json import (
    battery_test_to_json,
    frame_to_json,
    view_to_json,
    words_to_json,
)
from chordline.application.ports import DetectedCard, Photo
from chordline.application.viewpoint import read_scene, view_of
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.conventions import SIDES, Front, Side
from chordline.core.body.measurement import Mark
from chordline.core.geometry.angles import Floats
from chordline.web.desk import Desk

#: Long side of the picture in the editor [px].
EDITOR_PX = 1600


@dataclass(frozen=True)
class _Standing:
    """The marks that a photo has: from its measurement, else those of a coach, else none."""

    landmarks: Mapping[str, Any]
    near_side: Side
    front: Front


def editor_options(desk: Desk, view: PhotoView, test_id: str) -> dict[str, Any]:
    """Return what the editor is mounted with; its callbacks are the page's.

    Raises
    ------
    PhotoStoreError
        Where the picture is not kept, or damaged.
    """
    catalogue = desk.app.catalogue
    test = catalogue.tests[test_id]
    shown = desk.app.pictures.show(view.photo, max_px=EDITOR_PX)
    standing = _standing(view, test)
    scene = read_scene(_without_pixels(view, shown), _card(desk, view), catalogue)
    seen_from = view_of(scene, body_px=_middle(standing, shown), test=test, catalogue=catalogue)
    return {
        "photoUrl": picture_address(view.photo.id),
        "photo": {"width_px": shown.width_px, "height_px": shown.height_px},
        "landmarks": dict(standing.landmarks),
        "nearSide": standing.near_side,
        "front": standing.front,
        "test": battery_test_to_json(test_id, test),
        "words": _words_for(catalogue, test),
        "version": view.photo.marks_version,
        "frame": frame_to_json(scene.frame),
        "view": view_to_json(seen_from, catalogue),
        "handSdPx": catalogue.setting("hand_mark_sd_px"),
    }


def picture_address(photo_id: int, px: int = EDITOR_PX) -> str:
    """Return where a page finds a picture."""
    return f"/photos/{photo_id}/picture?px={px}"


def _words_for(catalogue: Catalogue, test: TestEntry) -> dict[str, Any]:
    words = words_to_json(catalogue)
    measures = {name: one for name, one in words["measures"].items() if name in test.measures}
    return {**words, "measures": measures}


def _standing(view: PhotoView, test: TestEntry) -> _Standing:
    near: Side = view.photo.near_side or SIDES[0]
    front: Front = view.photo.front or test.front or "up"
    if view.measurement is not None:
        record = view.measurement.record
        return _Standing(record["landmarks"], record["near_side"], record["front"])
    if view.marks is not None:
        marks = view.marks.marks
        told = {name: _mark_to_json(mark) for name, mark in marks.landmarks.items()}
        return _Standing(told, marks.near_side or near, marks.front or front)
    return _Standing({}, near, front)


def _mark_to_json(mark: Mark) -> dict[str, Any]:
    return {"x_px": mark.x_px, "y_px": mark.y_px, "sd_px": mark.sd_px, "origin": mark.origin}


def _without_pixels(view: PhotoView, shown: Rendition) -> Photo:
    """Return a photo as far as the scene needs it."""
    return Photo(
        name=view.photo.name,
        rgb=np.zeros((1, 1, 3), dtype=np.uint8),
        width_px=shown.width_px,
        height_px=shown.height_px,
        sha256=view.photo.sha256,
        focal_length_35mm=shown.focal_length_35mm,
    )


def _card(desk: Desk, view: PhotoView) -> DetectedCard | None:
    if view.measurement is not None:
        card = view.measurement.record["card"]
        if card is None:
            return None
        return DetectedCard(card["id"], np.array(card["corners_px"], dtype=float))
    measure = desk.app.measure_photo()
    seen = measure.cards_in(desk.app.pictures.read(view.photo))
    with desk.app.records.reading() as tx:
        screen_id = view.photo.screen_id
        her = None if screen_id is None else tx.gymnasts.get(tx.screens.get(screen_id).gymnast_id)
    return choose_card(seen, None if her is None else her.card)[0]


def _middle(standing: _Standing, shown: Rendition) -> Floats:
    """Return the middle of the body, or of the picture where no mark is set [px]."""
    marks = standing.landmarks.values()
    if not marks:
        return np.array([(shown.width_px - 1) / 2.0, (shown.height_px - 1) / 2.0])
    places = [(mark["x_px"], mark["y_px"]) for mark in marks]
    return np.asarray(np.mean(places, axis=0), dtype=float)
