"""Files whose kind their content tells."""

import io
import zipfile
from pathlib import PurePath
from typing import Final

from chordline.adapters.tables.csv_table import CsvTableReader, CsvTableWriter
from chordline.adapters.tables.limits import check_size
from chordline.application.roster.table import RosterTable, TableReader, TableWriter
from chordline.errors import RefusedInputError, WrongUseError

_ZIP = b"PK\x03\x04"
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
_SAVE_AS: Final = "save it as XLSX or as CSV UTF-8"
_OTHER_STARTS = {
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"<": "a page or document in XML",
    b"{\\rtf": "a text document",
}


class TableFileReader:
    """Implements `TableReader` for CSV and XLSX, whatever the file is called."""

    def read(self, data: bytes) -> RosterTable:
        """Return the table; raise `RefusedInputError` for other files, saying what to do."""
        check_size(data)
        return _reader_for(data).read(data)


def _reader_for(data: bytes) -> TableReader:
    if data.startswith(_ZIP):
        return _reader_for_zip(data)
    if data.startswith(_OLE):
        if _ENCRYPTED in data:
            raise RefusedInputError("the file has a password; save it without one")
        raise RefusedInputError(f"the file is of the old kind XLS; {_SAVE_AS}")
    start = data.removeprefix(b"\xef\xbb\xbf").lstrip()
    for sign, what in _OTHER_STARTS.items():
        if start.startswith(sign):
            raise RefusedInputError(f"the file is {what}, not a table; {_SAVE_AS}")
    return CsvTableReader()


def _reader_for_zip(data: bytes) -> TableReader:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = set(archive.namelist())
            mimetype = archive.getinfo("mimetype") if "mimetype" in names else None
            kind = archive.open(mimetype).read(100) if mimetype is not None else b""
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, ValueError):
        raise RefusedInputError(f"the file is damaged; open it again and {_SAVE_AS}") from None
    if "xl/workbook.xml" in names:
        # What reads workbooks is loaded where there is one: it takes longer than a command may.
        from chordline.adapters.tables.xlsx_table import XlsxTableReader  # noqa: PLC0415

        return XlsxTableReader()
    if b"opendocument" in kind:
        raise RefusedInputError(f"the file is of the kind ODS; {_SAVE_AS}")
    if any(name.startswith(("Index/", "Index.zip")) for name in names):
        raise RefusedInputError(f"the file is of the kind NUMBERS; {_SAVE_AS}")
    if "xl/workbook.bin" in names:
        raise RefusedInputError(f"the file is of the kind XLSB; {_SAVE_AS}")
    raise RefusedInputError(f"the file is a ZIP without a table; unpack it, and {_SAVE_AS}")


def writer_for(name: str) -> TableWriter:
    """Return the writer of the kind that a file's name ends with.

    Raises
    ------
    WrongUseError
        For other endings.
    """
    suffix = PurePath(name).suffix.lower()
    if suffix == ".csv":
        return CsvTableWriter()
    if suffix == ".xlsx":
        from chordline.adapters.tables.xlsx_table import XlsxTableWriter  # noqa: PLC0415

        return XlsxTableWriter()
    raise WrongUseError(f"a roster is written to .csv or .xlsx, not to '{suffix}'")
