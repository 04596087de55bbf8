"""Programs that write until they are killed, and say what was acknowledged.

Each is forked from a process that has loaded what they need: starting the interpreter takes longer
than most writers run.
"""

import atexit
import importlib
import json
import os
import random
import signal
import socket
import subprocess
import sys
import time
import traceback
from contextlib import suppress
from datetime import timedelta
from functools import cache
from itertools import count
from pathlib import Path

import pytest

from chordline.adapters.db.records import open_records
from chordline.application.club.ports import Tx
from chordline.application.repeatability.records import NewTask, Reading
from club_stories import MONDAY, marks_at, measured, new_photo

TESTS = Path(__file__).parent
#: One photo in so many is studied too.
STUDIED = 4


def say(text: object) -> None:
    print(text, flush=True)


def write_records(address: str, first: int) -> None:
    """File, mark, measure and queue a photo, and hold a session, in each transaction."""
    records = open_records(address)
    with records.reading() as tx:
        club = tx.clubs.all()[0]
        girl = tx.gymnasts.named(club.id, "Anna")[0]
        group = tx.clubs.groups(club.id)[0]
    for number in count(first):
        with records.transaction() as tx:
            screen = tx.screens.on(girl.id, MONDAY)
            filed = tx.photos.file(club.id, new_photo(f"{number}.jpg", screen_id=screen.id))
            photo_id = filed.photo.id
            marks = tx.photos.save_marks(photo_id, marks_at(number), base_version=0, author="Kim")
            tx.photos.save_measurement(
                photo_id,
                measured(number=number),
                revision=2,
                marks_version=marks.version,
                catalogue="c1",
            )
            tx.jobs.add(club.id, "judge", photo_id=photo_id)
            hold_session(tx, group.id, girl.id, number)
            if number % STUDIED == 0:
                study_photo(tx, club.id, photo_id, number)
        say(number)


def hold_session(tx: Tx, group_id: int, gymnast_id: int, number: int) -> None:
    """Plan, begin and end a session of a day of its own."""
    day = MONDAY + timedelta(days=number)
    record = {"number": number, "gymnasts": [gymnast_id]}
    plan = tx.training.add_plan(group_id, first_day=day, record=record, author="Kim")
    held = tx.training.session_on(group_id, day, plan_id=plan.id, record=record)
    tx.training.mark_present(held.id, gymnast_id, True)
    tx.training.mark_done(
        held.id, gymnast_id, exercise="hollow", share=1.0, minutes=6.0, author="Kim"
    )
    tx.training.change_session(held.id, version=1, record=record, state="ended")


def study_photo(tx: Tx, club_id: int, photo_id: int, number: int) -> None:
    """Begin a study of one photo, mark it, and use errors of its own."""
    study = tx.studies.add(club_id, photos=[photo_id], seed=number, twice=False, author="Kim")
    (task,) = tx.studies.join(study.id, "Kim", [NewTask(photo_id, 1)])
    reading = Reading(float(number), 1.0, 0.5, "deg")
    tx.studies.keep(task.id, marks={"number": number}, readings={"hip_opening_deg": reading})
    tx.studies.use_noise(club_id, {"number": number}, author="Kim")


def write_photos(folder: str, first: int) -> None:
    from vault_stories import open_vaulted  # noqa: PLC0415 (each writer loads what it needs)

    store = open_vaulted(Path(folder)).store
    for number in count(first):
        say(store.put(picture(number)))


def picture(number: int) -> bytes:
    return random.Random(number).randbytes(700_000)


class SaysSteps:
    """Says each file that is sealed."""

    def start(self, total: int) -> None:
        say(f"{total} to seal")

    def step(self, label: str) -> None:
        say("sealed")


def seal_pictures(folder: str, _first: int) -> None:
    from chordline.bootstrap import App  # noqa: PLC0415 (takes longer than most writers run)

    app = App(data=Path(folder))
    app.seal_pictures().all(app.club().id, SaysSteps())


def upgrade_records(address: str, _first: int) -> None:
    say("begin")
    open_records(address).close()
    say("done")


def write_until_killed(
    kind: str, address: str, *, first: int, after_s: float, words: int = 1
) -> list[str]:
    """Kill a writer some time after its first words; return everything it said."""
    if not hasattr(os, "fork"):
        pytest.skip("writers are forked, which this system cannot")
    heard, spoken = os.pipe()
    request = json.dumps({"kind": kind, "address": address, "first": first})
    socket.send_fds(starter(), [request.encode()], [spoken])
    os.close(spoken)
    answer = starter().recv(64)
    assert answer, "the process that forks has ended"
    writer = int(answer)
    with os.fdopen(heard, encoding="utf-8") as lines:
        try:
            said = [lines.readline() for _ in range(words)]
            assert said[-1], "the writer ended before it wrote that much"
            time.sleep(after_s)
        finally:
            os.kill(writer, signal.SIGKILL)
        said += lines.readlines()
    # A word that the kill cut short was not said.
    return [line.strip() for line in said if line.endswith("\n")]


@cache
def starter() -> socket.socket:
    """The line to the process that forks; it ends when the line is closed."""
    ours, its = socket.socketpair()
    path = os.pathsep.join([str(TESTS), os.environ.get("PYTHONPATH", "")])
    process = subprocess.Popen(
        [sys.executable, "-m", "killed_writers", str(its.fileno())],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        pass_fds=[its.fileno()],
        env={**os.environ, "PYTHONPATH": path},
    )
    its.close()

    def end() -> None:
        ours.close()
        process.wait()

    atexit.register(end)
    return ours


def fork_writers(line: socket.socket) -> None:
    """Fork a writer for each request; what it says goes where the request wants it."""
    while True:
        request, spoken, _, _ = socket.recv_fds(line, 4096, 1)
        forget_writers()
        if not request:
            return
        asked = json.loads(request)
        if asked["kind"] in NEEDS:
            importlib.import_module(NEEDS[asked["kind"]])
        writer = os.fork()
        if not writer:
            be_writer(asked, spoken[0])
        os.close(spoken[0])
        line.send(str(writer).encode())


def forget_writers() -> None:
    """Let go of those that have ended; not earlier, so that no other process gets their numbers."""
    with suppress(ChildProcessError):
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def be_writer(asked: dict[str, str], spoken: int) -> None:
    """Be the writer that was asked for; never returns."""
    try:
        os.dup2(spoken, 1)
        os.close(spoken)
        WRITERS[asked["kind"]](asked["address"], int(asked["first"]))
        sys.stdout.flush()
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(0)


WRITERS = {
    "records": write_records,
    "photos": write_photos,
    "seal": seal_pictures,
    "upgrade": upgrade_records,
}
#: What only some writers need; it is loaded before the fork.
NEEDS = {"photos": "vault_stories", "seal": "chordline.bootstrap"}

if __name__ == "__main__":
    fork_writers(socket.socket(fileno=int(sys.argv[1])))
