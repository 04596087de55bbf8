"""Videos and holds as lists show them: whose, which test, what they say or wait for."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from chordline.application.club.ports import Tx
from chordline.application.club.records import HoldRecord
from chordline.application.club.video_records import VideoQuery, VideoRow
from chordline.application.findings_words import upper_first
from chordline.catalogue.schema import Catalogue
from chordline.web.video_words import hold_seconds, hold_sentence, how_it_ended

#: So many that wait to be trimmed are listed.
_MOST = 50


@dataclass(frozen=True)
class VideoShown:
    """A video in a list.

    Attributes
    ----------
    page : str
    gymnast, title : str or None
        Whose it is and which test, as far as known.
    day : date or None
    told : str
        The hold in words, why it needs a look, or what it waits for.
    look : bool
        Whether somebody should do something.
    picture : str or None
        Address of its best moment.
    """

    page: str
    gymnast: str | None
    title: str | None
    day: date | None
    told: str
    look: bool
    picture: str | None


@dataclass(frozen=True)
class HoldShown:
    """A hold in the list of its screen: which test, how long with ±, and how it ended."""

    hold: HoldRecord
    title: str
    seconds: str
    ended: str


def videos_of_screen(
    tx: Tx, club_id: int, screen_id: int, catalogue: Catalogue
) -> list[VideoShown]:
    """Return the videos of a screen, the first first."""
    rows = tx.videos.find(VideoQuery(club_id, screen_id=screen_id))
    return show_videos(tx, reversed(rows), catalogue)


def videos_to_trim(tx: Tx, club_id: int, catalogue: Catalogue) -> list[VideoShown]:
    """Return the videos that nobody asked to measure yet, the latest first."""
    rows = tx.videos.find(VideoQuery(club_id, state="arrived", limit=_MOST))
    return show_videos(tx, rows, catalogue)


def show_videos(tx: Tx, rows: Iterable[VideoRow], catalogue: Catalogue) -> list[VideoShown]:
    """Return videos as lists show them."""
    return [_show(tx, row, catalogue) for row in rows]


def _show(tx: Tx, row: VideoRow, catalogue: Catalogue) -> VideoShown:
    video = row.video
    test = catalogue.tests.get(video.said.test or "")
    key = video.key_photo_id
    return VideoShown(
        page=f"/videos/{video.id}",
        gymnast=row.gymnast,
        title=None if test is None else test.title,
        day=row.screened_on or video.said.taken_on,
        told=_told(tx, row, catalogue),
        look=video.state in ("arrived", "needs_look", "refused"),
        picture=None if key is None else f"/photos/{key}/picture?px=480",
    )


def _told(tx: Tx, row: VideoRow, catalogue: Catalogue) -> str:
    video = row.video
    if video.state == "arrived":
        return "To be trimmed and measured"
    if video.state == "waiting":
        return "Being measured"
    if video.state != "measured":
        return upper_first(video.reason or "Needs a look")
    kept = tx.videos.measurement(video.id)
    hold = None if kept is None else kept.record["hold"]
    if hold is None:
        return "Measured"
    return hold_sentence({**hold, "reached_cap": hold["at_least"]}, catalogue)


def holds_of_screen(tx: Tx, holds: Iterable[HoldRecord], catalogue: Catalogue) -> list[HoldShown]:
    """Return the holds of a screen as its page lists them."""
    return [_show_hold(tx, one, catalogue) for one in holds]


def _show_hold(tx: Tx, hold: HoldRecord, catalogue: Catalogue) -> HoldShown:
    test = catalogue.tests.get(hold.test)
    title = hold.test if test is None else test.title
    kept = None if hold.video_id is None else tx.videos.measurement(hold.video_id)
    seen = None if kept is None else kept.record["hold"]
    if seen is not None:
        told = {**seen, "reached_cap": seen["at_least"]}
        return HoldShown(hold, title, hold_seconds(told), how_it_ended(told, catalogue))
    least = "at least " if hold.reached_cap else ""
    ended = "she was stopped in shape" if hold.reached_cap else "until the shape broke"
    return HoldShown(hold, title, f"{least}{hold.seconds:g}\u00a0s", ended)
