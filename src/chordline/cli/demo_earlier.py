"""An invented earlier screen for some of the demo club, so that there is a change to see.

Nobody photographed it: the marks are those of today, bent by what `demo/earlier_screen.csv` says
was missing more. They are kept as hand marks without pictures, and named as invented.
"""

import csv
import hashlib
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from importlib import resources

import numpy as np

from chordline.application.club.her_screen import counting_photos
from chordline.application.club.ports import Tx
from chordline.application.club.records import NewPhoto
from chordline.application.club.views import PhotoView
from chordline.application.marks import HandMarks
from chordline.application.measure_photo import MeasureRequest
from chordline.application.measurement_json import measurement_to_json
from chordline.bootstrap import App
from chordline.conventions import facing_of
from chordline.core.body.measurement import Mark, Measurement

EARLIER_SCREEN = "earlier_screen.csv"
NAMED = "invented earlier screen"
_ARM = ("elbow", "wrist", "hand")
_LEG = ("knee", "malleolus", "heel", "toe")
#: Sd of a mark that a coach sets with care [px].
_MARK_SD_PX = 3.0


def add_earlier_screens(app: App) -> int:
    """Give some gymnasts an invented earlier screen where they have one screen; return how many."""
    text = (resources.files("chordline.demo") / EARLIER_SCREEN).read_text(encoding="utf-8")
    rows: dict[tuple[int, int], list[dict[str, str]]] = {}
    for row in csv.DictReader(text.splitlines()):
        rows.setdefault((int(row["card"]), int(row["days_before"])), []).append(row)
    made = []
    for (card, days_before), bends in rows.items():
        with app.records.transaction() as tx:
            screen_id = _add(app, tx, card, date.today() - timedelta(days=days_before), bends)
        if screen_id is not None:
            made.append(screen_id)
    for screen_id in made:
        app.judge_screen(screen_id)
    return len(made)


def _add(app: App, tx: Tx, card: int, day: date, bends: list[dict[str, str]]) -> int | None:
    """Return the screen that was made; None where she has others, or nothing that counts."""
    her = tx.gymnasts.with_card(app.club().id, card)
    views = () if her is None else tx.gymnasts.view(her.id, screens=2).screens
    if her is None or len(views) != 1 or views[0].screen.screened_on <= day:
        return None
    today = {m.test: (photo, m) for photo, m in counting_photos(views[0], app.catalogue)}
    if not any(row["test"] in today for row in bends):
        return None
    screen = tx.screens.on(her.id, day)
    for row in bends:
        if row["test"] in today:
            photo, measurement = today[row["test"]]
            marks = _bent(
                measurement,
                shoulder_deg=float(row["shoulder_deg"]),
                hip_deg=float(row["hip_deg"]),
            )
            _keep(app, tx, photo, measurement, marks, screen_id=screen.id, day=day)
    return screen.id


def _keep(
    app: App,
    tx: Tx,
    photo: PhotoView,
    measurement: Measurement,
    marks: HandMarks,
    *,
    screen_id: int,
    day: date,
) -> None:
    test = measurement.test
    name = f"{NAMED}, {test}"
    sha256 = hashlib.sha256(f"{photo.photo.sha256} {name}".encode()).hexdigest()
    request = MeasureRequest(
        test, marks=marks, near_side=measurement.near_side, front=measurement.front
    )
    measured = app.measure_by_hand().measure(app.pictures.read(photo.photo), request)
    invented = replace(measured, photo=name, sha256=sha256)
    # The records know no empty file; there is none.
    new = NewPhoto(name, sha256, 1, None, screen_id=screen_id, test=test, taken_on=day)
    filed = tx.photos.file(photo.photo.club_id, new).photo
    kept = tx.photos.save_marks(filed.id, marks, base_version=0, author=NAMED)
    tx.photos.save_measurement(
        filed.id,
        measurement_to_json(invented),
        revision=tx.photos.get(filed.id).revision,
        marks_version=kept.version,
        catalogue=app.catalogue.version,
    )


def _bent(measurement: Measurement, *, shoulder_deg: float, hip_deg: float) -> HandMarks:
    """Return today's landmarks with shoulder and hip closed by more, feet and hands on one line.

    The body is turned as a whole until its ends lie in the direction in which they do today: on
    the mat where she lies, over the hands where she stands on them.
    """
    facing = facing_of(measurement.near_side)
    places = {
        name: np.array([mark.x_px, mark.y_px])
        for name, mark in measurement.landmarks.items()
        if name.rpartition("_")[0] not in ("back", "seam", "belly")
    }
    bent = _turned(places, "shoulder", set(_ARM), -np.radians(shoulder_deg) * facing)
    bent = _turned(bent, "hip", set(_LEG), np.radians(hip_deg) * facing)
    far, bearing = "malleolus", "hand"
    if measurement.test != "handstand":
        far, bearing = ("hand" if "hand" in places and shoulder_deg else "shoulder"), "malleolus"
    back = _direction(places[far] - places[bearing]) - _direction(bent[far] - bent[bearing])
    turned = _turned(bent, bearing, set(places), back)
    shift = places[bearing] - turned[bearing]
    return HandMarks(
        measurement.near_side,
        measurement.front,
        {
            name: Mark(float(x), float(y), _MARK_SD_PX, "hand")
            for name, (x, y) in ((name, place + shift) for name, place in turned.items())
        },
    )


def _direction(along: np.ndarray) -> float:
    return float(np.arctan2(along[1], along[0]))


def _turned(
    places: Mapping[str, np.ndarray], about: str, moved: set[str], angle: float
) -> dict[str, np.ndarray]:
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    centre = places[about]
    return {
        name: centre + turn @ (place - centre) if name in moved else place
        for name, place in places.items()
    }
