"""The two BlazePose networks as plain functions of a picture: raw answers, no geometry."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final, Protocol

import numpy as np
from ai_edge_litert.interpreter import Interpreter
from numpy.typing import NDArray

from chordline.adapters.pose.quiet import without_announcements
from chordline.errors import WeightsError

DETECTOR_SIZE: Final = 224
LANDMARK_SIZE: Final = 256
ANCHOR_COUNT: Final = 2254
#: 33 body points, then hip centre and circle point of the next region, then four spare ones.
POINT_COUNT: Final = 39
HEAT_SIZE: Final = 64


@dataclass(frozen=True)
class RawDetections:
    """What the detector says at each anchor.

    Attributes
    ----------
    boxes : (2254, 12) float array [px of the input]
        Centre and size of the face box, then four points, all relative to the anchor.
    logits : (2254,) float array
    """

    boxes: NDArray[np.float32]
    logits: NDArray[np.float32]


@dataclass(frozen=True)
class RawPose:
    """What the landmark network says about one cut.

    Attributes
    ----------
    points : (39, 5) float array
        x, y, depth [px of the input], then logits of visibility and presence.
    heat : (64, 64, 39) float array
        Logits of where each point lies.
    presence : float
        Probability that there is a person.
    mask : (256, 256) float array
        Logits of the person's pixels.
    """

    points: NDArray[np.float32]
    heat: NDArray[np.float32]
    presence: float
    mask: NDArray[np.float32]


class Detector(Protocol):
    """Finds faces and the circle around the body they belong to."""

    def detect(self, cut: NDArray[np.uint8]) -> RawDetections:
        """Return the raw answer for a (224, 224, 3) picture."""
        ...


class Landmarker(Protocol):
    """Finds the points of one upright body."""

    @property
    def regression_share(self) -> Mapping[str, float]:
        """By landmark: weight of the regression head against the heat map, 0 where not named."""
        ...

    def locate(self, cut: NDArray[np.uint8]) -> RawPose:
        """Return the raw answer for a (256, 256, 3) picture."""
        ...


class _Network:
    """A TFLite file with one picture as input; its outputs are told apart by their shapes."""

    def __init__(self, path: Path, *, threads: int, shapes: tuple[tuple[int, ...], ...]) -> None:
        try:
            with without_announcements():
                self._interpreter = Interpreter(model_path=str(path), num_threads=threads)
                self._interpreter.allocate_tensors()
        except (ValueError, RuntimeError, OSError) as error:
            raise WeightsError(
                f"the pose weights in {path.name} cannot be read ({error}); install them anew"
            ) from error
        self._input: int = self._interpreter.get_input_details()[0]["index"]
        self._outputs: dict[tuple[int, ...], int] = {
            tuple(int(n) for n in detail["shape"]): detail["index"]
            for detail in self._interpreter.get_output_details()
        }
        if missing := set(shapes) - set(self._outputs):
            raise WeightsError(
                f"{path.name} is not the network it should be: no output {missing}; "
                "install the weights anew"
            )

    def run(self, picture: NDArray[np.float32]) -> None:
        self._interpreter.set_tensor(self._input, picture[None])
        self._interpreter.invoke()

    def output(self, shape: tuple[int, ...]) -> NDArray[np.float32]:
        return np.asarray(self._interpreter.get_tensor(self._outputs[shape])[0], np.float32)


class TfliteDetector:
    """The person detector.

    Parameters
    ----------
    path : Path
        `pose_detection.tflite`.
    threads : int
    """

    _BOXES: Final = (1, ANCHOR_COUNT, 12)
    _LOGITS: Final = (1, ANCHOR_COUNT, 1)

    def __init__(self, path: Path, *, threads: int = 2) -> None:
        self._network = _Network(path, threads=threads, shapes=(self._BOXES, self._LOGITS))

    def detect(self, cut: NDArray[np.uint8]) -> RawDetections:
        """Return the raw answer for a (224, 224, 3) picture."""
        self._network.run(cut.astype(np.float32) / np.float32(127.5) - np.float32(1.0))
        return RawDetections(
            self._network.output(self._BOXES), self._network.output(self._LOGITS)[:, 0]
        )


class TfliteLandmarker:
    """The landmark network, full or heavy.

    Parameters
    ----------
    path : Path
        `pose_landmark_full.tflite` or `pose_landmark_heavy.tflite`.
    threads : int
    regression_share : mapping of str to float
    """

    _POINTS: Final = (1, POINT_COUNT * 5)
    _PRESENCE: Final = (1, 1)
    _MASK: Final = (1, LANDMARK_SIZE, LANDMARK_SIZE, 1)
    _HEAT: Final = (1, HEAT_SIZE, HEAT_SIZE, POINT_COUNT)

    def __init__(
        self,
        path: Path,
        *,
        threads: int = 2,
        regression_share: Mapping[str, float] = MappingProxyType({}),
    ) -> None:
        shapes = (self._POINTS, self._PRESENCE, self._MASK, self._HEAT)
        self._network = _Network(path, threads=threads, shapes=shapes)
        self._regression_share = regression_share

    @property
    def regression_share(self) -> Mapping[str, float]:
        """By landmark: weight of the regression head against the heat map, 0 where not named."""
        return self._regression_share

    def locate(self, cut: NDArray[np.uint8]) -> RawPose:
        """Return the raw answer for a (256, 256, 3) picture."""
        self._network.run(cut.astype(np.float32) / np.float32(255.0))
        return RawPose(
            points=self._network.output(self._POINTS).reshape(POINT_COUNT, 5),
            heat=self._network.output(self._HEAT),
            presence=float(self._network.output(self._PRESENCE)[0]),
            mask=self._network.output(self._MASK)[:, :, 0],
        )
