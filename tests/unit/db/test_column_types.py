from datetime import UTC, datetime

import pytest
from sqlalchemy.dialects import postgresql, sqlite

from chordline.adapters.db.column_types import JsonText, UtcDateTime

TOKYO = datetime.fromisoformat("2025-09-01T08:00:00+09:00")


def test_moments_are_written_in_utc():
    assert UtcDateTime().process_bind_param(TOKYO, postgresql.dialect()) == TOKYO
    assert UtcDateTime().process_bind_param(TOKYO, sqlite.dialect()) == datetime(2025, 8, 31, 23)


def test_moments_are_read_in_utc_from_either_database():
    for kept in (datetime(2025, 8, 31, 23), TOKYO):
        read = UtcDateTime().process_result_value(kept, sqlite.dialect())
        assert read == TOKYO
        assert read is not None
        assert read.tzinfo is UTC


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="zone"):
        UtcDateTime().process_bind_param(datetime(2025, 9, 1), sqlite.dialect())


def test_a_value_that_is_no_number_is_refused():
    with pytest.raises(ValueError, match="JSON"):
        JsonText().process_bind_param({"value": float("nan")}, sqlite.dialect())
