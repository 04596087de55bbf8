"""The weights: which are used, what is said about them, how they are fetched."""

import hashlib
import subprocess
import tarfile
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from chordline.adapters.pose import weights, weights_install
from chordline.adapters.pose.networks import TfliteDetector
from chordline.adapters.pose.weights import WeightsFile, choose_weights, read_status
from chordline.adapters.pose.weights_install import install_weights
from chordline.errors import WeightsError

CONTENT = {"detector": b"a detector", "full": b"a full network", "heavy": b"a heavy network"}


def stand_in(kind: str, name: str, *, needed: bool) -> WeightsFile:
    return WeightsFile(name, hashlib.sha256(CONTENT[kind]).hexdigest(), needed=needed)


DETECTOR = stand_in("detector", "pose_detection.tflite", needed=True)
FULL = stand_in("full", "pose_landmark_full.tflite", needed=True)
HEAVY = stand_in("heavy", "pose_landmark_heavy.tflite", needed=False)


@pytest.fixture(autouse=True)
def small_files(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put three small files in the place of the real ones."""
    for module in (weights, weights_install):
        monkeypatch.setattr(module, "DETECTOR", DETECTOR)
        monkeypatch.setattr(module, "FULL", FULL)
        monkeypatch.setattr(module, "HEAVY", HEAVY)
    monkeypatch.setattr(weights, "ALL_WEIGHTS", (DETECTOR, FULL, HEAVY))
    monkeypatch.setattr(
        weights_install,
        "_IN_WHEEL",
        {DETECTOR: "modules/pose_detection.tflite", FULL: "modules/pose_landmark_full.tflite"},
    )
    monkeypatch.setattr(
        weights_install, "_IN_TARBALL", {HEAVY: "package/pose_landmark_heavy.tflite"}
    )


class Clients:
    """Plays pip and npm: leaves archives in the folder."""

    def __init__(self, *, npm_fails: bool = False, pip_fails: bool = False, **content: bytes):
        self.commands: list[list[str]] = []
        self._content = CONTENT | content
        self._npm_fails = npm_fails
        self._pip_fails = pip_fails

    def __call__(self, command: Sequence[str], folder: Path) -> None:
        self.commands.append(list(command))
        if "pip" in command:
            if self._pip_fails:
                raise subprocess.CalledProcessError(1, command, stderr="ERROR: no route\n")
            with zipfile.ZipFile(folder / "some.whl", "w") as wheel:
                wheel.writestr("modules/pose_detection.tflite", self._content["detector"])
                wheel.writestr("modules/pose_landmark_full.tflite", self._content["full"])
        else:
            if self._npm_fails:
                raise subprocess.CalledProcessError(1, command, stderr="npm ERR! offline\n")
            packed = folder / "heavy"
            packed.write_bytes(self._content["heavy"])
            with tarfile.open(folder / "some.tgz", "w:gz") as tarball:
                tarball.add(packed, "package/pose_landmark_heavy.tflite")


def states(folder: Path) -> list[str]:
    return [one.state for one in read_status(folder)]


def test_an_installation_leaves_exactly_the_verified_files(tmp_path: Path) -> None:
    folder = tmp_path / "weights"
    report = install_weights(folder, run=Clients(), npm="npm")
    assert report.notes == ()
    assert states(folder) == ["installed"] * 3
    assert sorted(p.name for p in folder.iterdir()) == sorted(
        f.name for f in (DETECTOR, FULL, HEAVY)
    )
    chosen = choose_weights(folder)
    assert chosen.landmarks.name == HEAVY.name
    assert chosen.scout.name == FULL.name
    assert chosen.model.startswith("blazepose-heavy")
    assert HEAVY.sha256[:12] in chosen.model


def test_a_second_installation_fetches_nothing(tmp_path: Path) -> None:
    install_weights(tmp_path, run=Clients(), npm="npm")
    clients = Clients()
    install_weights(tmp_path, run=clients, npm="npm")
    assert clients.commands == []


def test_only_the_damaged_file_is_fetched_again(tmp_path: Path) -> None:
    install_weights(tmp_path, run=Clients(), npm="npm")
    (tmp_path / HEAVY.name).write_bytes(b"half of")
    assert states(tmp_path)[2] == "damaged"
    with pytest.raises(WeightsError, match="damaged"):
        choose_weights(tmp_path)
    clients = Clients()
    install_weights(tmp_path, run=clients, npm="npm")
    assert [command[0] for command in clients.commands] == ["npm"]
    assert states(tmp_path) == ["installed"] * 3


def test_without_npm_the_full_network_is_used_and_said_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shutil.which", lambda _: None)
    report = install_weights(tmp_path, run=Clients())
    assert "npm is not installed" in report.notes[0]
    assert "full network" in report.notes[0]
    chosen = choose_weights(tmp_path)
    assert chosen.landmarks == chosen.scout
    assert chosen.model.startswith("blazepose-full")


@pytest.mark.parametrize("clients", [Clients(npm_fails=True), Clients(heavy=b"tampered with")])
def test_a_failed_heavy_network_does_not_stop_the_installation(
    tmp_path: Path, clients: Clients
) -> None:
    report = install_weights(tmp_path, run=clients, npm="npm")
    assert len(report.notes) == 1
    assert states(tmp_path) == ["installed", "installed", "missing"]


def test_a_file_that_is_not_the_published_one_is_thrown_away(tmp_path: Path) -> None:
    with pytest.raises(WeightsError, match=r"pose_landmark_full\.tflite is not the published"):
        install_weights(tmp_path, run=Clients(full=b"something else"), npm="npm")
    assert [p.name for p in tmp_path.iterdir()] == [DETECTOR.name]


def test_a_failing_pip_is_named_with_its_last_words(tmp_path: Path) -> None:
    with pytest.raises(WeightsError, match="no route"):
        install_weights(tmp_path, run=Clients(pip_fails=True), npm="npm")


def test_missing_weights_are_named(tmp_path: Path) -> None:
    assert states(tmp_path) == ["missing"] * 3
    with pytest.raises(WeightsError, match="not installed"):
        choose_weights(tmp_path)


def test_the_folder_can_be_chosen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(weights.FOLDER_VARIABLE, str(tmp_path))
    assert weights.weights_folder() == tmp_path
    monkeypatch.delenv(weights.FOLDER_VARIABLE)
    assert weights.weights_folder().parts[-2:] == ("chordline", "weights")


def test_a_file_that_is_no_network_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "pose_detection.tflite"
    path.write_bytes(b"not a network")
    with pytest.raises(WeightsError, match="cannot be read"):
        TfliteDetector(path)
