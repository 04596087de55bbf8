"""What a worker runs: one photo to its measurement, the same bits on whichever worker.

A second place that chooses adapters beside `bootstrap`, and smaller: a worker needs no records, no
pages and no printing.
"""

import hashlib
import pickle
import platform
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from importlib import metadata, resources
from pathlib import PurePath
from typing import Final

import cv2

from chordline import __version__
from chordline.adapters.decoding.photo_reader import our_photo_reader
from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.adapters.pose.estimator import BlazePoseEstimator
from chordline.adapters.pose.weights import choose_weights
from chordline.adapters.workers.dask_cluster import DaskCluster
from chordline.adapters.workers.processes import LocalProcesses
from chordline.application.measure_many import MeasureMany, Outcome, PhotoTask
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.errors import RefusedInputError, WeightsError

#: Workers are as many as cores, so one thread each. How many there are does not change a bit of
#: the result; it was compared on the demo photos with one, two and three.
THREADS: Final = 1
#: What has a part in a measurement's bits.
_LIBRARIES: Final = (
    "numpy",
    "scipy",
    "opencv-python-headless",
    "pillow",
    "pi-heif",
    "ai-edge-litert",
)
_PROBE: Final = ("club", "13_prone-overhead.jpg")
_PROBE_TEST: Final = "prone-overhead"

CATALOGUE, WEIGHTS, PROBE = "catalogue", "pose weights", "demo photo"
_WHAT_TO_DO: Final = {
    CATALOGUE: "the files of the installed chordline differ: install the same one on both",
    WEIGHTS: "install the same weights on both with 'chordline weights'",
    PROBE: "the same programs measure it differently there, so its processor calculates "
    "otherwise: use workers of one kind",
}

Fingerprint = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class WorkerSetup:
    """What every worker has to know once.

    Attributes
    ----------
    catalogue : bytes
        The catalogue in use, a club's own entries and errors included, pickled: the workers need
        no copy of the club's files.
    fingerprint : tuple of (name, version)
        What a worker has to be; empty where workers are processes of this very installation.
    """

    catalogue: bytes
    fingerprint: Fingerprint = ()


def measure_many_on(catalogue: Catalogue, *, processes: int, cluster: str | None) -> MeasureMany:
    """Return the use case on so many processes of this machine, or on a cluster by its address."""
    if cluster is None:
        setup = WorkerSetup(pickle.dumps(catalogue))
        return MeasureMany(LocalProcesses(processes), partial(measure_task, setup))
    ours = fingerprint()
    setup = WorkerSetup(pickle.dumps(catalogue), ours)
    workers = DaskCluster(cluster, fingerprint=fingerprint, check=partial(tell_differences, ours))
    return MeasureMany(workers, partial(measure_task, setup))


def measure_task(setup: WorkerSetup, task: PhotoTask) -> Outcome:
    """Return what one photo measures. Pure: the same setup and task give the same outcome."""
    if unfit := _what_differs_here(setup.fingerprint):
        return Outcome(unfit=unfit)
    cv2.setNumThreads(THREADS)
    try:
        measure = _measuring(setup.catalogue)
        measure.test_named(task.request.test)
        photo = measure.read_content(task.name, task.content)
        return Outcome(measurement=measure.measure(photo, task.request))
    except RefusedInputError as error:
        return Outcome(refusal=str(error))
    except WeightsError as error:
        return Outcome(unfit=f"a worker cannot measure: {error}")


@lru_cache(maxsize=2)
def _measuring(catalogue: bytes) -> MeasurePhoto:
    our_photo_reader().start()  # while the networks load
    poses = BlazePoseEstimator.from_weights(choose_weights(), threads=THREADS)
    return MeasurePhoto(our_photo_reader(), ArucoCardReader(), poses, pickle.loads(catalogue))


@lru_cache(maxsize=1)
def fingerprint() -> Fingerprint:
    """Return what this installation is, down to the bits that it measures in a demo photo."""
    ours = load_catalogue()
    try:
        weights = choose_weights().model
        probe = _digest(_probe(ours))
    except WeightsError as error:
        weights, probe = f"none ({error})", ""
    return (
        ("chordline", __version__),
        ("Python", ".".join(platform.python_version_tuple()[:2])),
        *((name, metadata.version(name)) for name in _LIBRARIES),
        (CATALOGUE, ours.version),
        (WEIGHTS, weights),
        (PROBE, probe),
    )


def _probe(ours: Catalogue) -> Measurement:
    picture = resources.files("chordline.demo").joinpath(*_PROBE)
    measure = _measuring(pickle.dumps(ours))
    photo = measure.read_content(PurePath(_PROBE[-1]).name, picture.read_bytes())
    return measure.measure(photo, MeasureRequest(_PROBE_TEST))


def _digest(measurement: Measurement) -> str:
    return hashlib.sha256(measurement_bits(measurement)).hexdigest()[:12]


def measurement_bits(measurement: Measurement) -> bytes:
    """Return every bit of a measurement: numbers as they are, none rounded."""
    said = {**vars(measurement), "covariance": measurement.covariance.tobytes()}
    if measurement.card is not None:
        corners = measurement.card.corners_px
        said["card"] = {**vars(measurement.card), "corners_px": corners.tobytes()}
    return repr(said).encode()


def tell_differences(ours: Fingerprint, theirs: Mapping[str, Fingerprint]) -> str:
    """Return a sentence about the first worker that is not as this machine is; "" where all are."""
    for address, fingerprint_there in theirs.items():
        there = dict(fingerprint_there)
        for name, here in ours:
            if there.get(name) != here:
                todo = _WHAT_TO_DO.get(name, f"install the same {name} on both")
                return (
                    f"the worker {address} would not give the same results: {name} is {here} here "
                    f"and {there.get(name, 'missing')} there; {todo}"
                )
    return ""


@lru_cache(maxsize=4)
def _what_differs_here(wanted: Fingerprint) -> str:
    return tell_differences(wanted, {platform.node(): fingerprint()}) if wanted else ""
