"""A study of marks: coaches mark the same photos again, blind to every mark there is."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.club.views import PhotoView
from chordline.application.marks import HandMarks, faults_of_marks
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.application.ports import DetectedCard
from chordline.application.repeatability.pick import Choice, order_for, pick_photos
from chordline.application.repeatability.records import Reading, Study, Task
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Mark, Measurement
from chordline.errors import MarksError, RefusedInputError

#: So many photos are offered: marked twice they take ten minutes.
USUAL_PHOTOS = 12
#: Fewer say nothing (`core.progress.agreement_cases.Fewest`), more nobody marks to the end.
FEWEST_PHOTOS, MOST_PHOTOS = 10, 60
#: What marking one photo takes [min] (assumption: five joints, a tap each, and a look).
MINUTES_A_PHOTO = 0.4
_LONGEST_NAME = 100


@dataclass(frozen=True)
class Place:
    """Where a mark was set in the upright picture [px]."""

    x_px: float
    y_px: float


class MarkStudy:
    """Use case: begin a study of marks, deal out its photos, keep what was marked.

    What is marked here never becomes a photo's standing marks: it is measured for itself.
    """

    def __init__(
        self,
        records: Records,
        pictures: StoredPictures,
        measure: MeasurePhoto,
        catalogue: Catalogue,
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        records, pictures
        measure : MeasurePhoto
            Without a finder: only what the hand set is measured.
        catalogue : Catalogue
            With our default errors: a study says by how much its club's differ from them.
        """
        self._records = records
        self._pictures = pictures
        self._measure = measure
        self._catalogue = catalogue

    def choices(self, club_id: int) -> tuple[Choice, ...]:
        """Return the photos that a study may have."""
        with self._records.reading() as tx:
            views = tx.studies.measured(club_id)
        return tuple(
            Choice(view.photo.id, gymnast_id, view.photo.test)
            for view, gymnast_id in views
            if view.measurement is not None and view.photo.test in self._catalogue.tests
        )

    def begin(self, club_id: int, *, count: int, twice: bool, seed: int, author: str) -> Study:
        """Begin a study of measured photos.

        Raises
        ------
        RefusedInputError
            Where there are fewer than ten, or more are asked for than anybody marks.
        """
        if not FEWEST_PHOTOS <= count <= MOST_PHOTOS:
            raise RefusedInputError(
                f"a study has {FEWEST_PHOTOS} to {MOST_PHOTOS} photos, not {count}"
            )
        choices = self.choices(club_id)
        if len(choices) < FEWEST_PHOTOS:
            raise RefusedInputError(
                f"a study needs {FEWEST_PHOTOS} measured photos whose pictures are kept; "
                f"here are {len(choices)}"
            )
        picked = pick_photos(choices, count=count, seed=seed)
        with self._records.transaction() as tx:
            return tx.studies.add(club_id, photos=picked, seed=seed, twice=twice, author=author)

    def join(self, study_id: int, name: str) -> str:
        """Let a coach take part; return her name as the study writes it."""
        coach = " ".join(name.split())[:_LONGEST_NAME]
        if not coach:
            raise RefusedInputError("say who marks: the study tells coaches apart by their names")
        with self._records.transaction() as tx:
            study = tx.studies.get(study_id)
            known = {one.coach.casefold(): one.coach for one in tx.studies.tasks(study_id)}
            coach = known.get(coach.casefold(), coach)
            order = order_for(study.photos, coach=coach, seed=study.seed, twice=study.twice)
            tx.studies.join(study_id, coach, order)
        return coach

    def next_task(self, study_id: int, coach: str) -> Task | None:
        """Return the photo that a coach marks next; None where she is through."""
        with self._records.reading() as tx:
            tx.studies.get(study_id)
            return tx.studies.next_task(study_id, coach)

    def keep(self, task_id: int, places: Mapping[str, Place]) -> Task:
        """Keep and measure what a coach marked; sent twice, the first stands.

        Raises
        ------
        MarksError
            With every fault of the marks.
        RefusedInputError
            Where the photo can be measured no more.
        """
        with self._records.reading() as tx:
            task = tx.studies.task(task_id)
            if task.done_at is not None:
                return task
            view = tx.photos.view(task.photo_id)
        measured = self._measured(view, places)
        readings = {
            name: Reading(
                round(one.value, 3),
                round(one.sd, 4),
                round(one.systematic["landmark_definition"], 4),
                one.unit,
            )
            for name, one in measured.measures.items()
            if math.isfinite(one.value) and math.isfinite(one.sd)
        }
        marks = {
            "test": measured.test,
            "near_side": measured.near_side,
            "front": measured.front,
            "landmarks": {
                name: {"x_px": round(mark.x_px, 2), "y_px": round(mark.y_px, 2)}
                for name, mark in measured.landmarks.items()
            },
        }
        with self._records.transaction() as tx:
            return tx.studies.keep(task_id, marks=marks, readings=readings)

    def _measured(self, view: PhotoView, places: Mapping[str, Place]) -> Measurement:
        photo, standing = view.photo, view.measurement
        test = self._catalogue.tests.get(photo.test or "")
        if test is None or standing is None:
            raise RefusedInputError("this photo is being filed anew; go on with the next one")
        record = standing.record
        image = record["image"]
        # Whoever marks more than the line changes what an angle rests on: alike for all coaches.
        landmarks = {
            name: Mark(
                places[name].x_px,
                places[name].y_px,
                self._catalogue.setting("hand_mark_sd_px"),
                "hand",
            )
            for name in test.chord
            if name in places
        }
        faults = faults_of_marks(
            landmarks,
            width_px=image["width_px"],
            height_px=image["height_px"],
            needed=test.chord,
        )
        if faults:
            raise MarksError(photo.name, faults)
        return self._measure.measure(
            self._pictures.read(photo),
            MeasureRequest(
                test=photo.test or "",
                # Side and front are no marks: they are the photo's own, alike for all coaches.
                marks=HandMarks(record["near_side"], record["front"], landmarks),
                near_side=record["near_side"],
                front=record["front"],
                expected_card=None if record["card"] is None else record["card"]["id"],
            ),
            cards=_cards(record["card"]),
        )


def _cards(card: Mapping[str, object] | None) -> tuple[DetectedCard, ...]:
    """Return the card that the photo was measured with."""
    if card is None:
        return ()
    return (DetectedCard(int(str(card["id"])), np.array(card["corners_px"], dtype=float)),)
