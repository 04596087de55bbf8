"""A screen from the records in the shape that judging and printing take."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from chordline.application.club.records import (
    BodySize,
    GymnastRecord,
    HoldRecord,
    NoteRecord,
    PhotoRecord,
)
from chordline.application.club.views import PhotoView, ScreenView
from chordline.application.folder import Gymnast
from chordline.application.measurement_json import measurement_from_json
from chordline.application.ports import Photo
from chordline.application.screen_folder import Filed, GymnastScreen, LeftOut
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement, Trust
from chordline.core.capacity.observed import Held

#: The catalogue's word for reported pain without a nearer description.
PAIN = "pain"


@dataclass(frozen=True)
class HerScreen:
    """A screen, and the photos of it that do not count with the reason."""

    screen: GymnastScreen
    left_out: tuple[LeftOut, ...]


def her_screen(
    gymnast: GymnastRecord,
    view: ScreenView,
    *,
    sizes: Sequence[BodySize],
    notes: Sequence[NoteRecord],
    catalogue: Catalogue,
    read: Callable[[PhotoRecord], Photo],
) -> HerScreen:
    """Return a screen as `FindLimits` and the sheets take it.

    Parameters
    ----------
    gymnast : GymnastRecord
    view : ScreenView
    sizes, notes : sequence
        All of hers.
    catalogue : Catalogue
    read : callable
        Gives a photo's picture; called only when it is to be shown.
    """
    left_out = tuple(
        LeftOut(one.photo.name, one.photo.reason or "not measured yet", gymnast.name)
        for one in view.photos
        if not _counts(one)
    )
    counting = counting_photos(view, catalogue)
    return HerScreen(
        GymnastScreen(
            gymnast=_in_roster(gymnast, sizes, view.screen.screened_on),
            filed=tuple(
                Filed(measurement, lambda photo=one.photo: read(photo))  # type: ignore[misc]
                for one, measurement in counting
            ),
            held=tuple(one for one in held_in(view, catalogue) if one.test in catalogue.tests),
            flags=flags_on(notes, view.screen.screened_on, catalogue),
        ),
        left_out,
    )


def counting_holds(view: ScreenView) -> tuple[HoldRecord, ...]:
    """Return the holds that count.

    A video's counts while the photo of its best moment is trusted. Where one counts for a test,
    the seconds taken with a watch for it do not: they time the same hold less well.
    """
    if not view.key_photos:
        return tuple(one for one in view.holds if one.video_id is None)
    trusted = {
        one.photo.id
        for one in view.photos
        if one.photo.id in view.key_photos.values()
        and (measured := counting_measurement(one)) is not None
        and measured.trust.accepted
    }
    of_videos = {one.id for one in view.holds if view.key_photos.get(one.video_id or 0) in trusted}
    shown = {one.test for one in view.holds if one.id in of_videos}
    return tuple(
        one
        for one in view.holds
        if one.id in of_videos or (one.video_id is None and one.test not in shown)
    )


def held_in(view: ScreenView, catalogue: Catalogue) -> tuple[Held, ...]:
    """Return the holds that count as the models take them, each with its own error."""
    rel_sd = catalogue.setting("hold_rel_sd")
    return tuple(
        Held(
            "entered" if one.video_id is None else one.author,
            one.test,
            one.seconds,
            rel_sd if one.rel_sd is None else one.rel_sd,
            one.reached_cap,
        )
        for one in counting_holds(view)
    )


def counting_photos(
    view: ScreenView, catalogue: Catalogue
) -> tuple[tuple[PhotoView, Measurement], ...]:
    """Return the photos whose measurement counts, with it, in the order of the battery."""
    order = {test: place for place, test in enumerate(catalogue.tests)}
    measured = ((one, counting_measurement(one)) for one in view.photos)
    known = [(one, m) for one, m in measured if m is not None and m.test in order]
    known.sort(key=lambda pair: (order[pair[1].test], pair[1].photo))
    return tuple(known)


def counting_measurement(view: PhotoView) -> Measurement | None:
    """Return the measurement that counts, or None where the photo has none.

    A photo that somebody looked at and found right is trusted; its reasons become cautions.
    """
    if view.measurement is None or not _counts(view):
        return None
    measurement = measurement_from_json(dict(view.measurement.record))
    named = replace(measurement, photo=view.photo.name)
    if view.photo.checked_by is None or named.trust.accepted:
        return named
    seen = f"checked by {view.photo.checked_by}"
    cautions = (*named.cautions, *(f"{reason} ({seen})" for reason in named.trust.reasons))
    return replace(named, trust=Trust(True, ()), cautions=cautions)


def _counts(view: PhotoView) -> bool:
    return view.measurement is not None and view.photo.state != "refused"


def flags_on(notes: Sequence[NoteRecord], day: date, catalogue: Catalogue) -> tuple[str, ...]:
    """Return the signs that were open on a day or are open now."""
    flags = [
        one.flag if one.kind == "flag" else PAIN
        for one in notes
        if one.kind != "remark" and (one.closed_on is None or (one.noted_on <= day < one.closed_on))
    ]
    return tuple(dict.fromkeys(flag for flag in flags if flag in catalogue.referrals))


def _in_roster(gymnast: GymnastRecord, sizes: Sequence[BodySize], day: date) -> Gymnast:
    """Return her with the sizes that were the latest on a day."""
    until = sorted((one for one in sizes if one.taken_on <= day), key=lambda one: one.taken_on)

    def latest(name: str) -> float | None:
        values = [getattr(one, name) for one in until]
        return next((value for value in reversed(values) if value is not None), None)

    return Gymnast(
        name=gymnast.name,
        card=gymnast.card,
        birth_date="" if gymnast.birth_date is None else gymnast.birth_date.isoformat(),
        stature_cm=latest("stature_cm"),
        mass_kg=latest("mass_kg"),
        sitting_height_cm=latest("sitting_height_cm"),
    )
