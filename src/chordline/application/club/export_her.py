"""Everything about one gymnast as one file: for her family, or before she is erased."""

import csv
import io
import json
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import IO, Any, Final

from chordline.application.club.export_words import COLUMNS_LEFT_OUT, FILES, readme
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.club.records import GymnastRecord
from chordline.application.headway import Progress
from chordline.errors import PhotoStoreError, RefusedInputError

Row = Mapping[str, Any]
#: A file's name inside, and what makes it when its turn has come.
Paper = tuple[str, Callable[[], bytes]]

#: Long side of the pictures: more than any photo has.
_WHOLE_PX: Final = 100_000
_PIECE_BYTES: Final = 1 << 20
#: ZIP knows no day before this one.
_FIRST_YEAR: Final = 1980
_CONTAINERS: Final = {"mp4", "mov", "m4v", "webm", "mkv", "avi"}


@dataclass(frozen=True)
class Exported:
    """What an export holds: rows by table, pictures, videos, sheets, and what could not be read."""

    rows: Mapping[str, int]
    pictures: int
    videos: int
    sheets: int
    missing: tuple[str, ...]


class ExportHer:
    """Use case: write everything about a gymnast."""

    def __init__(
        self,
        records: Records,
        store: PhotoStore,
        pictures: StoredPictures,
        *,
        clean_jpeg: Callable[..., bytes],
        papers: Callable[[int, date], Iterable[Paper]],
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        records, store, pictures
        clean_jpeg : callable
            Returns a photo as JPEG without metadata, as `PhotoReader.clean_jpeg`.
        papers : callable
            Returns the sheets of a gymnast on a day; each is made when it is written.
        """
        self._records = records
        self._store = store
        self._pictures = pictures
        self._clean_jpeg = clean_jpeg
        self._papers = papers

    def to_file(
        self, gymnast_id: int, out: IO[bytes], *, today: date, progress: Progress | None = None
    ) -> Exported:
        """Write a ZIP into an open file; one picture or piece of a video is in memory at a time."""
        written = _Written()
        for _ in self._write(gymnast_id, out, today, progress, written):
            pass
        return written.done()

    def pieces(self, gymnast_id: int, *, today: date) -> Iterator[bytes]:
        """Yield the same ZIP piece by piece, for whoever sends it on."""
        out = _Outlet()
        for _ in self._write(gymnast_id, out, today, None, _Written()):
            yield out.take()
        yield out.take()

    def _write(
        self,
        gymnast_id: int,
        out: Any,
        today: date,
        progress: Progress | None,
        written: "_Written",
    ) -> Iterator[None]:
        with self._records.reading() as tx:
            her = tx.gymnasts.get(gymnast_id)
            rows = tx.erased.rows_of(gymnast_id)
        photos, videos = rows.get("photo", ()), rows.get("video", ())
        papers = list(self._papers(gymnast_id, today))
        steps = len(photos) + len(videos) + len(papers) + sum(map(bool, rows.values()))
        if progress is not None:
            progress.start(steps)

        def step(label: str) -> None:
            if progress is not None:
                progress.step(label)

        moment = (max(today.year, _FIRST_YEAR), today.month, today.day, 0, 0, 0)
        with zipfile.ZipFile(out, "w", allowZip64=True) as archive:
            box = _Box(archive, moment)
            box.text(
                "README.txt", readme(her, today, {name: len(one) for name, one in rows.items()})
            )
            box.text("gymnast.json", _as_json({"gymnast": rows["gymnast"][0], **_rest(rows)}))
            yield
            for table, lines in sorted(rows.items()):
                written.rows[table] = len(lines)
                if not lines:
                    continue
                box.text(f"tables/{FILES.get(table, table)}.csv", _as_csv(table, lines))
                step(table)
                yield
            for row in photos:
                yield from self._photo(box, row, written)
                step(row["name"])
            for row in videos:
                yield from self._video(box, row, written)
                step(row["name"])
            for name, make in papers:
                self._paper(box, name, make, written)
                step(name)
                yield
            if written.missing:
                box.text("missing.txt", "\n".join(written.missing) + "\n")
        yield

    def _photo(self, box: "_Box", row: Row, written: "_Written") -> Iterator[None]:
        if row["content_key"] is None:
            return
        with self._records.reading() as tx:
            photo = tx.photos.get(row["id"])
        name = f"pictures/photo-{photo.id}{_test_of(row)}.jpg"
        try:
            picture = self._pictures.read(photo)
        except (PhotoStoreError, RefusedInputError) as error:
            written.missing.append(f"{name}: {error}")
            return
        box.packed(name, self._clean_jpeg(picture, max_px=_WHOLE_PX))
        written.pictures += 1
        yield

    def _video(self, box: "_Box", row: Row, written: "_Written") -> Iterator[None]:
        key = row["content_key"]
        if key is None:
            return
        ending = str(row["name"]).rpartition(".")[2].lower()
        ending = ending if ending in _CONTAINERS else "video"
        name = f"videos/video-{row['id']}{_test_of(row)}.{ending}"
        try:
            source = self._store.open_file(key)
        except PhotoStoreError as error:
            written.missing.append(f"{name}: {error}")
            return
        with source, box.open(name) as target:
            while piece := source.read(_PIECE_BYTES):
                target.write(piece)
                yield
        written.videos += 1

    def _paper(
        self, box: "_Box", name: str, make: Callable[[], bytes], written: "_Written"
    ) -> None:
        try:
            box.packed(f"sheets/{name}", make())
        except RefusedInputError as error:
            written.missing.append(f"sheets/{name}: {error}")
            return
        written.sheets += 1


class _Written:
    """What was written so far."""

    def __init__(self) -> None:
        self.rows: dict[str, int] = {}
        self.pictures = self.videos = self.sheets = 0
        self.missing: list[str] = []

    def done(self) -> Exported:
        return Exported(self.rows, self.pictures, self.videos, self.sheets, tuple(self.missing))


class _Box:
    """A ZIP whose entries all have one moment, so that the same content gives the same bytes."""

    def __init__(
        self, archive: zipfile.ZipFile, moment: tuple[int, int, int, int, int, int]
    ) -> None:
        self._archive = archive
        self._moment = moment

    def text(self, name: str, words: str) -> None:
        """Write words, packed."""
        info = self._info(name)
        info.compress_type = zipfile.ZIP_DEFLATED
        self._archive.writestr(info, words.encode())

    def packed(self, name: str, content: bytes) -> None:
        """Write what is packed already."""
        self._archive.writestr(self._info(name), content)

    def open(self, name: str) -> IO[bytes]:
        """Return a file to be written piece by piece."""
        return self._archive.open(self._info(name), "w", force_zip64=True)

    def _info(self, name: str) -> zipfile.ZipInfo:
        info = zipfile.ZipInfo(name, self._moment)
        info.external_attr = 0o600 << 16
        return info


class _Outlet(io.RawIOBase):
    """What a ZIP is written to while it is sent on: nothing is kept, nothing sought."""

    def __init__(self) -> None:
        self._pieces: list[bytes] = []

    def writable(self) -> bool:
        """Return True."""
        return True

    def write(self, content: Any) -> int:
        """Take a piece."""
        self._pieces.append(bytes(content))
        return len(content)

    def take(self) -> bytes:
        """Return what was written since the last call."""
        pieces, self._pieces = self._pieces, []
        return b"".join(pieces)


def _test_of(row: Row) -> str:
    """Return the test for a file's name; letters, figures and hyphens as the catalogue has them."""
    test = "".join(sign for sign in str(row["test"] or "") if sign.isalnum() or sign == "-")
    return f"-{test}" if test else ""


def _rest(rows: Mapping[str, Sequence[Row]]) -> dict[str, Sequence[Row]]:
    return {
        FILES.get(name, name): lines for name, lines in sorted(rows.items()) if name != "gymnast"
    }


def _as_json(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, indent=1, default=_plain) + "\n"


def _as_csv(table: str, rows: Sequence[Row]) -> str:
    out = io.StringIO()
    left_out = COLUMNS_LEFT_OUT.get(table, frozenset())
    names = [name for name in (rows[0] if rows else {}) if name not in left_out]
    writer = csv.writer(out)
    writer.writerow(names)
    for row in rows:
        writer.writerow([_cell(row[name]) for name in names])
    # Excel takes a table without this mark for the machine's own letters.
    return "\ufeff" + out.getvalue()


def _cell(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float):
        return value
    if isinstance(value, str):
        # A cell that begins so would be a formula.
        return f"'{value}" if value[:1] in ("=", "+", "-", "@", "\t", "\r") else value
    if isinstance(value, date | datetime | bytes | memoryview):
        return _plain(value)
    return json.dumps(value, ensure_ascii=False, default=_plain)


def _plain(value: Any) -> Any:
    """Return what JSON has no word for."""
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, bytes | memoryview):
        return bytes(value).hex()
    return str(value)


def export_name(her: GymnastRecord, day: date) -> str:
    """Return what the file is called; by number, so that no name stands in a list of downloads."""
    return f"gymnast-{her.id}-{day.isoformat()}.zip"
