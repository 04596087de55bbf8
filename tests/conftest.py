"""Its place puts this folder on the import path: helpers that several folders use stand here.

Random examples are the same at every run.
"""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import settings
from sqlalchemy import Engine

from chordline.adapters.db import records
from chordline.adapters.db.migrate import upgrade

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")


@pytest.fixture(scope="session", autouse=True)
def ready_made_records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Begin new SQLite records as a copy: ten migrations take longer than most tests.

    The copied file was made by the migrations. What is there already, and PostgreSQL, is upgraded.
    """
    made = tmp_path_factory.mktemp("ready_made") / "records.sqlite"

    def upgrade_or_copy(engine: Engine) -> None:
        path = Path(engine.url.database or "")
        if engine.dialect.name == "sqlite" and not path.exists():
            if not made.exists():
                first = records.make_engine(f"sqlite:///{made}")
                upgrade(first)
                first.dispose()
            part = path.with_name(f"{path.name}.{uuid4().hex}.part")
            shutil.copyfile(made, part)
            try:
                os.link(part, path)
            except FileExistsError:
                pass  # another was quicker
            finally:
                part.unlink()
        upgrade(engine)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(records, "upgrade", upgrade_or_copy)
        yield
