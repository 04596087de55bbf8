"""A video comes in: kept and filed in one step, or not there at all."""

import hashlib
import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import BinaryIO, cast

from chordline.application.club.check_incoming import check_incoming
from chordline.application.club.file_name import own_name
from chordline.application.club.let_go import let_go
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records, Tx
from chordline.application.club.seal_pictures import SealPictures
from chordline.application.club.video_records import (
    FiledVideo,
    NewVideo,
    VideoFacts,
    VideoRecord,
    VideoSaid,
)
from chordline.application.club.whose import find_whose
from chordline.application.folder import read_file_name
from chordline.application.ports import CardReader
from chordline.application.video_ports import Span, VideoReader, VideoSource
from chordline.catalogue.schema import Catalogue
from chordline.conventions import Front, Side
from chordline.errors import PictureError, RefusedInputError

#: Kind of the jobs that measure a video.
MEASURE_VIDEO = "measure_video"
#: Enough to tell a video by.
_HEAD_BYTES = 400
_AT_ONCE = 1 << 20
#: Shares of a video at which a card is looked for.
_CARD_AT = (0.02, 0.35, 0.7, 0.95)
_A_MOMENT_S = 1.0


@dataclass(frozen=True)
class IncomingVideo:
    """A video on its way in.

    Attributes
    ----------
    name : str
        The file's own name; its folders are dropped.
    content : binary file
        Read once, piece by piece; what it raises ends the taking in, and nothing is kept.
    day : date
        The day of the screen it belongs to.
    gymnast_id, test, near_side, front, person : optional
        What the coach said; None = to be told from the name or the card.
    keep_file : bool
        Whether the file stays once it is measured.
    measure : bool
        Whether to measure the whole of it at once, where its gymnast and its test are known.
    """

    name: str
    content: BinaryIO
    day: date
    gymnast_id: int | None = None
    test: str | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None
    keep_file: bool = True
    measure: bool = False


class TakeInVideo:
    """Use case: keep a video."""

    def __init__(
        self,
        records: Records,
        store: PhotoStore,
        reader: VideoReader,
        cards: CardReader,
        catalogue: Catalogue,
        *,
        longest_s: float,
    ) -> None:
        self._records = records
        self._store = store
        self._reader = reader
        self._cards = cards
        self._catalogue = catalogue
        self._longest_s = longest_s
        self._seal = SealPictures(records, store)

    def __call__(self, club_id: int, incoming: IncomingVideo, *, today: date) -> FiledVideo:
        """Return the video; one whose bytes are there already is returned as it stands.

        Raises
        ------
        RefusedInputError
            For a file that is no video, an unknown test, or an impossible day; nothing is kept.
        """
        name = own_name(incoming.name, otherwise="video")
        check_incoming(incoming.test, incoming.day, catalogue=self._catalogue, today=today)
        counted = _Counted(incoming.content, lambda head: self._reader.check_head(name, head))
        key_id = None
        if incoming.gymnast_id is not None:
            with self._records.transaction() as tx:
                tx.gymnasts.get(incoming.gymnast_id)
                key_id = self._store.key_for(tx.keys, club_id, incoming.gymnast_id)
        # Outside of any transaction: it takes as long as the network does.
        key = self._store.put_file(cast("BinaryIO", counted), key_id)
        try:
            filed = self._file(club_id, name, key, counted, incoming)
        except BaseException:
            let_go(self._records, self._store, [key])
            raise
        if filed.video.content_key != key:
            let_go(self._records, self._store, [key])
        self._seal.filed("video", filed.video.id)
        return FiledVideo(self._now(filed), filed.already_there)

    def _now(self, filed: FiledVideo) -> VideoRecord:
        with self._records.reading() as tx:
            return tx.videos.get(filed.video.id)

    def _file(
        self, club_id: int, name: str, key: str, counted: "_Counted", incoming: IncomingVideo
    ) -> FiledVideo:
        sha256 = counted.sha256
        source = VideoSource(name, lambda: self._store.open_file(key), sha256)
        with self._records.reading() as tx:
            there = tx.videos.with_sha256(club_id, sha256)
        facts = self._reader.describe(source) if there is None else there.facts
        named = read_file_name(name, list(self._catalogue.tests))
        cards = () if there or incoming.gymnast_id else self._cards_in(source, facts)
        with self._records.transaction() as tx:
            if not self._store.has(key):
                raise RefusedInputError(f"{name}: somebody removed it meanwhile; send it again")
            gymnast_id = incoming.gymnast_id
            if gymnast_id is None:
                whose = find_whose(tx.gymnasts, club_id, named=named, cards_seen=cards)
                gymnast_id = None if isinstance(whose, str) else whose.id
            screen = None if gymnast_id is None else tx.screens.on(gymnast_id, incoming.day)
            filed = tx.videos.file(
                club_id,
                NewVideo(
                    name=name,
                    sha256=sha256,
                    size_bytes=counted.size_bytes,
                    content_key=key,
                    facts=facts,
                    said=VideoSaid(
                        screen_id=None if screen is None else screen.id,
                        test=incoming.test or named.test,
                        near_side=incoming.near_side,
                        front=incoming.front,
                        person=incoming.person,
                        taken_on=incoming.day,
                        keep_file=incoming.keep_file,
                    ),
                    reason=why_too_long(facts, Span(), self._longest_s),
                ),
            )
            if incoming.measure and not filed.already_there:
                filed = FiledVideo(_queue(tx, filed), already_there=False)
        return filed

    def _cards_in(self, source: VideoSource, facts: VideoFacts) -> tuple[int, ...]:
        """Return the cards that stand in the video, looked for at some moments of it."""
        whole = facts.duration_s or 0.0
        for at in [share * whole for share in _CARD_AT] if whole else [0.0]:
            try:
                picture = self._reader.open(source, Span(at, at + _A_MOMENT_S)).photo_at(at)
            except PictureError:
                continue
            cards = tuple(card.id for card in self._cards.read(picture.rgb))
            if cards:
                return cards
        return ()


def _queue(tx: Tx, filed: FiledVideo) -> VideoRecord:
    video = filed.video
    if video.reason is None and video.said.screen_id is not None and video.said.test is not None:
        tx.videos.settle(video.id, revision=video.revision, state="waiting")
        tx.jobs.add(video.club_id, MEASURE_VIDEO, video_id=video.id)
    return tx.videos.get(video.id)


def why_too_long(facts: VideoFacts, span: Span, longest_s: float) -> str | None:
    """Return why a part of a video cannot be measured at once; None where it can."""
    if facts.duration_s is None:
        return None
    end = facts.duration_s if span.to_s is None else min(span.to_s, facts.duration_s)
    seconds = end - (span.from_s or 0.0)
    if seconds <= longest_s:
        return None
    return (
        f"{in_words(seconds)} are more than the {in_words(longest_s)} that can be measured at "
        "once; choose the part in which she does the test"
    )


def in_words(seconds: float) -> str:
    """Return a length of time in minutes, or seconds where it is short."""
    return f"{seconds / 60.0:.0f} minutes" if seconds >= 90.0 else f"{seconds:.0f} seconds"


class _Counted(io.RawIOBase):
    """A file on its way through: told by its head, counted and named by its bytes."""

    def __init__(self, content: BinaryIO, check_head: Callable[[bytes], None]) -> None:
        super().__init__()
        self._content = content
        self._check_head = check_head
        self._digest = hashlib.sha256()
        self._ahead = bytearray()
        self.size_bytes = 0

    @property
    def sha256(self) -> str:
        """Of all bytes that went through."""
        return self._digest.hexdigest()

    def readable(self) -> bool:
        """Return True."""
        return True

    def read(self, size: int = -1, /) -> bytes:
        """Return the next `size` bytes, fewer only at the end.

        Raise `PictureError` where the first are no video's.
        """
        wanted = max(size, _HEAD_BYTES) if size >= 0 else None
        while wanted is None or len(self._ahead) < wanted:
            piece = self._content.read(_AT_ONCE if wanted is None else wanted - len(self._ahead))
            if not piece:
                break
            self._ahead += piece
        if self.size_bytes == 0:
            self._check_head(bytes(self._ahead[:_HEAD_BYTES]))
        whole = bytes(self._ahead if size < 0 else self._ahead[:size])
        del self._ahead[: len(whole)]
        self.size_bytes += len(whole)
        self._digest.update(whole)
        return whole
