"""A simulated club through the use cases: known hands, coaches and takes come out again.

A joint that moves by 1 px across the body turns the hip by 1/164 + 1/219 rad: thigh and trunk of
the simulated girl are 164 and 219 px long.
"""

from collections.abc import Iterator

import numpy as np
import pytest

from chordline.application.repeatability.own_noise import OwnError
from chordline.application.repeatability.study_results import MeasureResult
from chordline.application.repeatability.use_noise import Known
from chordline.bootstrap import App
from chordline.core.progress.agreement_limits import Limits
from chordline.core.progress.repeatability_sources import Component, Sources
from study_stories import Hand, mark_all, open_club, take_twice

pytestmark = pytest.mark.slow

HIP = "hip_opening_deg"
DEG_PER_PX = float(np.rad2deg(1.0 / 164.0 + 1.0 / 219.0))
HAND_PX = 6.0
COACHES = [Hand("Jo", HAND_PX, -10.0), Hand("Kim", HAND_PX, 0.0), Hand("Lea", HAND_PX, 10.0)]
CHANGE_PX = 8.0
TAKES = "prone-active"


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[App]:
    folder = tmp_path_factory.mktemp("studied")
    with open_club(folder, gymnasts=15, tests=("prone-overhead", "prone-raised")) as app:
        yield app


@pytest.fixture(scope="module")
def known(app: App) -> Known:
    study = app.mark_study().begin(app.club().id, count=30, twice=True, seed=3, author="Kim")
    mark_all(app, study.id, COACHES, seed=5)
    take_twice(app, 15, change_px=CHANGE_PX, scatter_px=4.0, seed=9, test=TAKES)
    return app.use_noise().tell(app.club().id, study.id)


def hips(known: Known) -> MeasureResult:
    assert known.results is not None
    return next(one for one in known.results.measures if one.name == HIP)


def proposed(known: Known, kind: str, name: str) -> OwnError:
    (one,) = [one for one in known.proposed.errors if (one.kind, one.name) == (kind, name)]
    return one


def test_the_hands_scatter_comes_out_in_pixels(known: Known) -> None:
    assert proposed(known, "marking", "hand_mark_sd_px").own_sd == pytest.approx(HAND_PX, rel=0.15)


def test_one_coach_again_and_another_coach_are_told_apart(known: Known) -> None:
    sources = hips(known).sources
    assert isinstance(sources, Sources)
    within, offset = sources.within_coach, sources.coach_offset
    assert isinstance(within, Component)
    assert isinstance(offset, Component)
    # What our 4 px predict for these photos, scaled to the hands that marked.
    truth = hips(known).predicted_sd * HAND_PX / 4.0
    assert within.low**0.5 < truth < within.high**0.5
    assert offset.sd == pytest.approx(10.0 * DEG_PER_PX, rel=0.25)


def test_coaches_who_mark_the_hip_apart_are_seen_apart(known: Known) -> None:
    (pair,) = [one for one in hips(known).pairs if (one.first, one.second) == ("Jo", "Lea")]
    assert isinstance(pair.limits, Limits)
    assert abs(pair.limits.bias.value) == pytest.approx(20.0 * DEG_PER_PX, rel=0.25)
    (same,) = [one for one in hips(known).pairs if (one.first, one.second) == ("Kim", "Kim")]
    assert isinstance(same.limits, Limits)
    assert same.limits.bias.low < 0.0 < same.limits.bias.high


def test_what_she_changes_from_take_to_take_comes_out_without_the_marks(known: Known) -> None:
    take = proposed(known, "take", HIP)
    assert take.test == TAKES
    assert take.own_sd == pytest.approx(CHANGE_PX * DEG_PER_PX, rel=0.4)


def test_no_photo_of_the_study_has_other_marks_or_findings_for_it(app: App, known: Known) -> None:
    assert known.results is not None
    with app.records.reading() as tx:
        for photo_id in known.results.study.photos:
            view = tx.photos.view(photo_id)
            assert view.marks is None
            assert tx.photos.marks_history(photo_id) == ()
            assert len(tx.photos.measurements(photo_id)) == 1
            assert view.photo.state == "measured"


def test_in_use_they_widen_her_findings_and_going_back_restores_them(
    app: App, known: Known
) -> None:
    def judged() -> tuple[str, float]:
        with app.records.reading() as tx:
            girl = tx.gymnasts.named(app.club().id, "Girl 3")[0]
        found = app.judge_screen.latest_of(girl.id)
        assert found is not None
        return found.catalogue, found.record["capacities"]["hip_extension_deg"]["sd"]

    assert known.results is not None
    version, before = judged()
    app.use_noise().use(app.club().id, known.results.study.id, author="Kim")
    changed, during = judged()
    assert changed != version
    assert during > before
    assert app.catalogue.version == changed
    again = App(data=app.data)
    again.club()
    assert again.catalogue.version == changed
    again.records.close()
    app.use_noise().go_back(app.club().id)
    assert judged() == (version, before)


def test_the_control_a_girl_who_lies_still_changes_nothing(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    with open_club(tmp_path_factory.mktemp("still"), gymnasts=12, tests=()) as app:
        take_twice(app, 12, change_px=0.0, scatter_px=4.0, seed=9, test=TAKES)
        take = proposed(app.use_noise().tell(app.club().id), "take", HIP)
    assert take.own_sd < 0.5 * CHANGE_PX * DEG_PER_PX
    assert take.sd > 0.0
