"""A photo comes in: kept, filed and queued for measuring in one step, or not there at all."""

import hashlib
from dataclasses import dataclass
from datetime import date

from chordline.application.club.check_incoming import check_incoming
from chordline.application.club.file_name import own_name
from chordline.application.club.let_go import let_go
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records
from chordline.application.club.records import FiledPhoto, NewPhoto
from chordline.application.folder import read_file_name
from chordline.application.ports import PhotoReader
from chordline.catalogue.schema import Catalogue
from chordline.conventions import Front, Side

#: Kind of the jobs that measure a photo.
MEASURE = "measure"
#: In the payload of such a job: to be done although the photo is measured.
AGAIN = "again"


@dataclass(frozen=True)
class Incoming:
    """A photo on its way in.

    Attributes
    ----------
    name : str
        The file's own name; its folders are dropped.
    content : bytes
    day : date
        The day of the screen it belongs to.
    gymnast_id, test, near_side, front, person : optional
        What the coach said; None = to be told from the card, the picture and the name.
    """

    name: str
    content: bytes
    day: date
    gymnast_id: int | None = None
    test: str | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None


class TakeInPhoto:
    """Use case: keep a photo and queue it for measuring."""

    def __init__(
        self, records: Records, store: PhotoStore, reader: PhotoReader, catalogue: Catalogue
    ) -> None:
        self._records = records
        self._store = store
        self._reader = reader
        self._catalogue = catalogue

    def __call__(self, club_id: int, incoming: Incoming, *, today: date) -> FiledPhoto:
        """Return the photo; one whose bytes are there already is returned as it stands.

        Raises
        ------
        RefusedInputError
            For a file that is no picture, an unknown test, or an impossible day; nothing is kept.
        """
        name = own_name(incoming.name, otherwise="photo")
        check_incoming(incoming.test, incoming.day, catalogue=self._catalogue, today=today)
        sha256 = hashlib.sha256(incoming.content).hexdigest()
        with self._records.reading() as tx:
            there = tx.photos.with_sha256(club_id, sha256)
        if there is not None:
            return FiledPhoto(there, already_there=True)
        self._reader.read_content(name, incoming.content)
        test = incoming.test or read_file_name(name, list(self._catalogue.tests)).test
        key_id: str | None = None
        if incoming.gymnast_id is not None:
            with self._records.transaction() as tx:
                tx.gymnasts.get(incoming.gymnast_id)
                key_id = self._store.key_for(tx.keys, club_id, incoming.gymnast_id)
        # Outside of any transaction: other writers need not wait for the disk.
        key = self._store.put(incoming.content, key_id)
        try:
            filed = self._file(club_id, incoming, name=name, sha256=sha256, key=key, test=test)
        except BaseException:
            let_go(self._records, self._store, [key])
            raise
        if filed.photo.content_key != key:
            # Another tablet brought the same photo at the same moment, and was quicker.
            let_go(self._records, self._store, [key])
        return filed

    def _file(
        self,
        club_id: int,
        incoming: Incoming,
        *,
        name: str,
        sha256: str,
        key: str,
        test: str | None,
    ) -> FiledPhoto:
        with self._records.transaction() as tx:
            screen = (
                None
                if incoming.gymnast_id is None
                else tx.screens.on(incoming.gymnast_id, incoming.day)
            )
            filed = tx.photos.file(
                club_id,
                NewPhoto(
                    name=name,
                    sha256=sha256,
                    size_bytes=len(incoming.content),
                    content_key=key,
                    screen_id=None if screen is None else screen.id,
                    test=test,
                    near_side=incoming.near_side,
                    front=incoming.front,
                    person=incoming.person,
                    taken_on=incoming.day,
                ),
            )
            if not filed.already_there:
                tx.jobs.add(club_id, MEASURE, photo_id=filed.photo.id)
        return filed
