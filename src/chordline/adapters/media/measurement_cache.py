"""Measurements of a folder, one JSON object a line, in a hidden file beside the photos."""

import json
import os
from pathlib import Path

from chordline.application.measurement_json import measurement_from_json, measurement_to_json
from chordline.core.body.measurement import Measurement

_NAME = Path(".chordline") / "measurements.jsonl"


class FolderCache:
    """Implements `MeasurementCache` by appending to a file.

    Each line is on disk before `put` returns. A line cut short by a kill is skipped on reading.
    Where the folder cannot be written, nothing is remembered and nothing fails.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / _NAME
        self._known: dict[str, Measurement] = {}
        self._writable = True
        self._read()

    def _read(self) -> None:
        try:
            lines = self._path.read_text(encoding="utf-8").splitlines()
        except (OSError, UnicodeDecodeError):
            return
        for line in lines:
            try:
                record = json.loads(line)
                self._known[record["key"]] = measurement_from_json(record["measurement"])
            except (ValueError, KeyError, TypeError):
                continue

    def get(self, key: str) -> Measurement | None:
        """Return what was measured under a key."""
        return self._known.get(key)

    def put(self, key: str, measurement: Measurement) -> None:
        """Append a measurement and wait until it is on disk."""
        self._known[key] = measurement
        if not self._writable:
            return
        line = json.dumps({"key": key, "measurement": measurement_to_json(measurement)})
        try:
            self._path.parent.mkdir(exist_ok=True)
            with self._path.open("a", encoding="utf-8") as file:
                # A line that a kill cut short must not swallow this one.
                file.write("\n" + line)
                file.flush()
                os.fsync(file.fileno())
        except OSError:
            self._writable = False


class NoCache:
    """Remembers nothing."""

    def get(self, key: str) -> Measurement | None:  # noqa: ARG002
        """Return None."""
        return None

    def put(self, key: str, measurement: Measurement) -> None:
        """Do nothing."""
