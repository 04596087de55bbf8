"""A PostgreSQL server of its own for the tests, from Debian's package."""

import importlib.util
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

REQUIRED = os.environ.get("CHORDLINE_REQUIRE_POSTGRES") == "1"
_SOMEBODY = "postgres"


def find_binaries() -> Path | None:
    beside = shutil.which("initdb")
    if beside:
        return Path(beside).parent
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return places[-1].parent if places else None


def binaries_or_skip() -> Path:
    found = find_binaries()
    driver = importlib.util.find_spec("psycopg")
    if found is None or driver is None:
        why = "PostgreSQL is not installed; 'apt-get install postgresql' brings it"
        if driver is None:
            why = "PostgreSQL's driver is not installed; pip install 'psycopg[binary]' brings it"
        if REQUIRED:
            pytest.fail(why)
        pytest.skip(why)
    return found


#: Where a plain PATH does not look for it.
_RUNUSER = shutil.which("runuser") or "/usr/sbin/runuser"


def _as_somebody(command: list[str]) -> list[str]:
    """PostgreSQL does not run as root."""
    return [_RUNUSER, "-u", _SOMEBODY, "--", *command] if os.geteuid() == 0 else command


def _run(command: list[str]) -> None:
    done = subprocess.run(
        _as_somebody(command),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        cwd="/",
        timeout=120,
        check=False,
    )
    if done.returncode != 0:
        pytest.fail(f"{command[0]} failed:\n{done.stdout}")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def private_server(binaries: Path) -> Iterator[str]:
    """Yield the address of a server without the database's name; stop it afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="chordline-pg-"))
    try:
        if os.geteuid() == 0:
            user = pwd.getpwnam(_SOMEBODY)
            os.chown(folder, user.pw_uid, user.pw_gid)
        data, port = folder / "data", _free_port()
        _run(
            [
                str(binaries / "initdb"),
                *("-D", str(data), "-U", "chordline", "-A", "trust", "-E", "UTF8"),
                *("--locale=C.UTF-8", "--no-sync"),
            ]
        )
        # The tests kill clients, never the server: it needs no disk to be waited for.
        options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
        pg_ctl = [str(binaries / "pg_ctl"), "-D", str(data), "-w"]
        _run([*pg_ctl, "-l", str(folder / "log"), "-o", options, "start"])
        try:
            yield f"postgresql://chordline@127.0.0.1:{port}"
        finally:
            _run([*pg_ctl, "-m", "immediate", "stop"])
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run_sql(address: str, sql: str) -> None:
    """Run one statement outside any transaction."""
    import psycopg  # noqa: PLC0415 — where the driver is absent, only these tests are skipped

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(sql.encode())
