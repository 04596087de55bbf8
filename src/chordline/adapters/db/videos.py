"""Implements `VideoBook`."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import Select, func, or_, select

from chordline.adapters.db.rows import AnyRow
from chordline.adapters.db.schema import CLUB, GYMNAST, HOLD, PHOTO, SCREEN
from chordline.adapters.db.session import Session
from chordline.adapters.db.video_schema import VIDEO, VIDEO_MEASUREMENT, VIDEO_TRACK
from chordline.adapters.db.views import keys_not_needed, touch_screens
from chordline.adapters.media.track_bytes import track_from_bytes, track_to_bytes
from chordline.application.club.records import Json
from chordline.application.club.video_records import (
    FACT_FIELDS,
    SAID_FIELDS,
    FiledVideo,
    NewVideo,
    VideoCounts,
    VideoFacts,
    VideoMeasurementRecord,
    VideoQuery,
    VideoRecord,
    VideoRow,
    VideoSaid,
    VideoState,
)
from chordline.core.body.track import Track
from chordline.errors import NotThereError

_WITH_OWNER = VIDEO.outerjoin(SCREEN, SCREEN.c.id == VIDEO.c.screen_id).outerjoin(
    GYMNAST, GYMNAST.c.id == SCREEN.c.gymnast_id
)
_LOOK = ("needs_look", "refused")
#: Changes of these leave a measurement as it is.
_NO_MATTER = ("keep_file",)


class SqlVideos:
    """Videos, what was read off them, and what they give to the findings."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def file(self, club_id: int, new: NewVideo) -> FiledVideo:
        """File a video as arrived; one that is there already gets its file back, no more."""
        self._session.row(CLUB, club_id)
        self._check_screen(club_id, new.said.screen_id)
        sha256 = new.sha256.lower()
        added = self._session.insert_once(
            VIDEO,
            ("club_id", "sha256"),
            club_id=club_id,
            name=new.name,
            sha256=sha256,
            size_bytes=new.size_bytes,
            content_key=new.content_key,
            state="arrived",
            reason=new.reason,
            revision=1,
            received_at=self._session.now(),
            **_values(new.said, SAID_FIELDS),
            **_values(new.facts, FACT_FIELDS),
        )
        same = select(VIDEO).where(VIDEO.c.club_id == club_id, VIDEO.c.sha256 == sha256)
        video = video_of(self._session.rows(same)[0])
        if not added and video.content_key is None:
            self._session.change(VIDEO, video.id, content_key=new.content_key)
            video = self.get(video.id)
        return FiledVideo(video, already_there=not added)

    def get(self, video_id: int) -> VideoRecord:
        """Return a video."""
        return video_of(self._session.row(VIDEO, video_id))

    def with_sha256(self, club_id: int, sha256: str) -> VideoRecord | None:
        """Return the video of these bytes, if it is there."""
        return self._first(VIDEO.c.club_id == club_id, VIDEO.c.sha256 == sha256.lower())

    def of_key_photo(self, photo_id: int) -> VideoRecord | None:
        """Return the video whose best moment a photo is."""
        return self._first(VIDEO.c.key_photo_id == photo_id)

    def find(self, query: VideoQuery) -> tuple[VideoRow, ...]:
        """Return videos, the latest first."""
        wanted = _rows().where(VIDEO.c.club_id == query.club_id)
        if query.screen_id is not None:
            wanted = wanted.where(VIDEO.c.screen_id == query.screen_id)
        if query.gymnast_id is not None:
            wanted = wanted.where(SCREEN.c.gymnast_id == query.gymnast_id)
        if query.state is not None:
            wanted = wanted.where(VIDEO.c.state == query.state)
        rows = self._session.rows(wanted.order_by(VIDEO.c.id.desc()).limit(query.limit))
        return tuple(map(_row_of, rows))

    def looks(self, club_id: int, *, limit: int = 50) -> tuple[VideoRow, ...]:
        """Return the videos that need a look, the oldest first."""
        wanted = (
            _rows()
            .outerjoin(PHOTO, PHOTO.c.id == VIDEO.c.key_photo_id)
            .where(
                VIDEO.c.club_id == club_id,
                VIDEO.c.state.in_(_LOOK),
                or_(PHOTO.c.id.is_(None), PHOTO.c.state.in_(_LOOK)),
                or_(GYMNAST.c.id.is_(None), GYMNAST.c.archived_at.is_(None)),
            )
        )
        return tuple(map(_row_of, self._session.rows(wanted.order_by(VIDEO.c.id).limit(limit))))

    def counts(self, club_id: int) -> VideoCounts:
        """Return how many videos are in which state."""
        query = (
            select(VIDEO.c.state, func.count().label("videos"))
            .where(VIDEO.c.club_id == club_id)
            .group_by(VIDEO.c.state)
        )
        of = {row.state: int(row.videos) for row in self._session.rows(query)}
        return VideoCounts(
            arrived=of.get("arrived", 0),
            waiting=of.get("waiting", 0),
            needs_look=of.get("needs_look", 0),
            refused=of.get("refused", 0),
        )

    def say(self, video_id: int, said: VideoSaid) -> VideoRecord:
        """Keep what the coach says."""
        before = video_of(self._session.row(VIDEO, video_id, lock=True))
        self._check_screen(before.club_id, said.screen_id)
        changed = {
            name: getattr(said, name)
            for name in SAID_FIELDS
            if getattr(said, name) != getattr(before.said, name)
        }
        if not changed:
            return before
        if set(changed) - set(_NO_MATTER):
            changed |= {"revision": before.revision + 1, "state": "arrived", "reason": None}
        self._session.change(VIDEO, video_id, **changed)
        touch_screens(self._session, [before.said.screen_id, said.screen_id])
        return self.get(video_id)

    def refile(self, video_id: int, *, screen_id: int, taken_on: date | None) -> None:
        """Move a video as it stands, with its hold, to another screen."""
        before = video_of(self._session.row(VIDEO, video_id, lock=True))
        self._check_screen(before.club_id, screen_id)
        self._session.change(VIDEO, video_id, screen_id=screen_id, taken_on=taken_on)
        moved = HOLD.update().where(HOLD.c.video_id == video_id).values(screen_id=screen_id)
        self._session.connection.execute(moved)
        touch_screens(self._session, [before.said.screen_id, screen_id])

    def settle(
        self, video_id: int, *, revision: int, state: VideoState, reason: str | None = None
    ) -> bool:
        """Set a video's state, unless it is another by now."""
        before = video_of(self._session.row(VIDEO, video_id, lock=True))
        if before.revision != revision:
            return False
        self._session.change(VIDEO, video_id, state=state, reason=reason and reason[:2000])
        touch_screens(self._session, [before.said.screen_id])
        return True

    def show(self, video_id: int, photo_id: int | None) -> None:
        """Say which photo its best moment became."""
        self._session.change(VIDEO, video_id, key_photo_id=photo_id)

    def forget_file(self, video_id: int) -> str | None:
        """Say that the file is kept no more."""
        key = video_of(self._session.row(VIDEO, video_id, lock=True)).content_key
        self._session.change(VIDEO, video_id, content_key=None)
        return self._if_not_needed(key)

    def remove(self, video_id: int) -> str | None:
        """Remove a video with what was read off it and its hold."""
        before = video_of(self._session.row(VIDEO, video_id, lock=True))
        self._session.connection.execute(VIDEO.delete().where(VIDEO.c.id == video_id))
        touch_screens(self._session, [before.said.screen_id])
        return self._if_not_needed(before.content_key)

    def remove_hold(self, video_id: int) -> None:
        """Remove the hold that a video gave."""
        found = self._session.rows(select(HOLD).where(HOLD.c.video_id == video_id))
        self._session.connection.execute(HOLD.delete().where(HOLD.c.video_id == video_id))
        touch_screens(self._session, [row.screen_id for row in found])

    def save_measurement(
        self, video_id: int, record: Json, *, revision: int, catalogue: str
    ) -> VideoMeasurementRecord:
        """Keep the measurement of a video as it was at a revision, instead of an earlier one."""
        self._session.row(VIDEO, video_id, lock=True)
        self._session.put(
            VIDEO_MEASUREMENT,
            video_id=video_id,
            revision=revision,
            record=dict(record),
            model=record["model"],
            catalogue=catalogue,
            measured_at=self._session.now(),
        )
        return _measurement_of(self._session.rows(_measured(video_id))[0])

    def measurement(self, video_id: int) -> VideoMeasurementRecord | None:
        """Return the measurement that counts: of the video as it is now."""
        now = _measured(video_id).join(VIDEO, VIDEO.c.id == VIDEO_MEASUREMENT.c.video_id)
        found = self._session.rows(now.where(VIDEO.c.revision == VIDEO_MEASUREMENT.c.revision))
        return _measurement_of(found[0]) if found else None

    def pieces(self, video_id: int, key: str | None = None) -> tuple[Track, ...]:
        """Return the pieces of her landmarks in order, up to the first that is missing."""
        wanted = select(VIDEO_TRACK).where(VIDEO_TRACK.c.video_id == video_id)
        if key is not None:
            wanted = wanted.where(VIDEO_TRACK.c.key == key)
        found: list[Track] = []
        for row in self._session.rows(wanted.order_by(VIDEO_TRACK.c.number)):
            piece = track_from_bytes(row.piece) if row.number == len(found) else None
            if piece is None:
                break
            found.append(piece)
        return tuple(found)

    def keep_piece(self, video_id: int, key: str, number: int, piece: Track) -> None:
        """Keep a piece; pieces of another key are forgotten."""
        other = (VIDEO_TRACK.c.video_id == video_id, VIDEO_TRACK.c.key != key)
        self._session.connection.execute(VIDEO_TRACK.delete().where(*other))
        self._session.put(
            VIDEO_TRACK,
            video_id=video_id,
            number=number,
            key=key,
            until_s=float(piece.t_s[-1]),
            piece=track_to_bytes(piece),
        )

    def seen_until(self, video_ids: Sequence[int]) -> dict[int, float]:
        """Return up to which time [s] landmarks of videos are kept."""
        query = (
            select(VIDEO_TRACK.c.video_id, func.max(VIDEO_TRACK.c.until_s).label("until_s"))
            .where(VIDEO_TRACK.c.video_id.in_(video_ids))
            .group_by(VIDEO_TRACK.c.video_id)
        )
        return {row.video_id: float(row.until_s) for row in self._session.rows(query)}

    def _first(self, *wanted: Any) -> VideoRecord | None:
        found = self._session.rows(select(VIDEO).where(*wanted))
        return video_of(found[0]) if found else None

    def _check_screen(self, club_id: int, screen_id: int | None) -> None:
        """Raise where a screen is another club's."""
        if screen_id is None:
            return
        hers = SCREEN.join(GYMNAST)
        query = select(func.count()).select_from(hers)
        here = query.where(SCREEN.c.id == screen_id, GYMNAST.c.club_id == club_id)
        if self._session.number(here) == 0:
            raise NotThereError("screen", screen_id)

    def _if_not_needed(self, key: str | None) -> str | None:
        return next(iter(keys_not_needed(self._session, [key])), None) if key else None


def video_of(row: AnyRow) -> VideoRecord:
    """Return a video from a row that may hold more."""
    nested: dict[str, Any] = {
        "said": VideoSaid(**{name: getattr(row, name) for name in SAID_FIELDS}),
        "facts": VideoFacts(**{name: getattr(row, name) for name in FACT_FIELDS}),
    }
    plain = [name for name in VideoRecord.__dataclass_fields__ if name not in nested]
    return VideoRecord(**{name: getattr(row, name) for name in plain}, **nested)


def _rows() -> Select[Any]:
    return select(
        VIDEO, GYMNAST.c.id.label("gymnast_id"), GYMNAST.c.name.label("gymnast"),
        SCREEN.c.screened_on,
    ).select_from(_WITH_OWNER)  # fmt: skip


def _row_of(row: AnyRow) -> VideoRow:
    return VideoRow(video_of(row), row.gymnast_id, row.gymnast, row.screened_on)


def _measured(video_id: int) -> Select[Any]:
    return select(VIDEO_MEASUREMENT).where(VIDEO_MEASUREMENT.c.video_id == video_id)


def _measurement_of(row: AnyRow) -> VideoMeasurementRecord:
    names = VideoMeasurementRecord.__dataclass_fields__
    return VideoMeasurementRecord(**{name: getattr(row, name) for name in names})


def _values(record: VideoSaid | VideoFacts, names: Sequence[str]) -> dict[str, Any]:
    return {name: getattr(record, name) for name in names}
