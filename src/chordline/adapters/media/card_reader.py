"""Finds printed cards in a picture and the corners of their black squares, free of bleeding bias.

OpenCV proposes four-sided outlines; everything after that is done here in linear light. A lens and
a pixel spread light, so the step from black to white becomes a ramp that is symmetric *in light*.
Picture files store light through the sRGB curve, which lifts the dark half of that ramp: judged in
stored values white seems to bleed into black and the square reads too small. Decoding the curve
first and taking the place where light is half way between the black and the white beside it puts
the edge back where the ink ends, whatever the blur.
"""

from itertools import pairwise
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from chordline.application.ports import DetectedCard

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

#: Modules along one side of the black square: four of pattern and a black border of one.
MODULES: Final = 6
#: Smallest side of a black square that is tried [px]; below it a module is under 2 px.
_MIN_SIDE_PX: Final = 12.0
#: Light beside the square must be this many times the light of its border (assumption: even greyish
#: ink under glare stays below half of the paper).
_MIN_CONTRAST: Final = 2.0
#: Each module must be this far from half way, 1 being full black or full white (assumption).
_MIN_MARGIN: Final = 0.15
#: Share of an edge that must show a clear step; the rest may be behind a finger (assumption).
_MIN_CLEAR_SHARE: Final = 0.6
_REFINEMENTS: Final = 4

_STORED: Final = np.arange(256) / 255.0
#: Light for each stored value (sRGB, IEC 61966-2-1), 0–1.
_LIGHT: Final[Floats] = np.where(
    _STORED <= 0.04045, _STORED / 12.92, ((_STORED + 0.055) / 1.055) ** 2.4
)


class ArucoCardReader:
    """Reads cards of OpenCV's dictionary DICT_4X4_1000 in any in-plane rotation.

    A card is reported only if all 36 modules, the black border included, and the white around them
    are as printed; nothing is corrected, because a wrong number is worse than none.
    """

    def __init__(self) -> None:
        dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000)
        self._number_of = {
            card_bits(number)[1:-1, 1:-1].tobytes(): number
            for number in range(len(dictionary.bytesList))
        }
        parameters = cv2.aruco.DetectorParameters()
        parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_NONE
        self._parameters = parameters
        self._dictionary = dictionary

    def read(self, rgb: Pixels) -> tuple[DetectedCard, ...]:
        """Return every card in the picture, the largest first.

        Parameters
        ----------
        rgb : (h, w, 3) uint8 array
            An upright picture, sRGB.

        Returns
        -------
        tuple of DetectedCard
            Corners in pixels of `rgb`, pixel centres at whole numbers. Two cards with the same
            number are both there.

        Notes
        -----
        Outlines are sought in the stored values first and, where these hold no card, in light:
        small blurred squares fall apart in the first, dim ones in the second.

        The half-way rule assumes that white is not clipped. Where the paper is burnt out the true
        white is unknown and the square reads short by a fraction of the blur.
        """
        grey = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
        found: list[tuple[float, DetectedCard]] = []
        for as_searched in (np.asarray, _as_light_picture):
            for quad in self._propose_quads(grey, as_searched(grey)):
                card = self._read_card(grey, quad)
                if card is not None:
                    found.append((abs(_signed_area(card.corners_px)), card))
            if found:
                break
        found.sort(key=lambda pair: -pair[0])
        kept: list[DetectedCard] = []
        for area, card in found:
            centre = card.corners_px.mean(axis=0)
            if all(
                np.linalg.norm(other.corners_px.mean(axis=0) - centre) > 0.5 * np.sqrt(area)
                for other in kept
            ):
                kept.append(card)
        return tuple(kept)

    def _propose_quads(self, grey: Pixels, searched: Pixels) -> list[Floats]:
        """Return dark four-sided outlines with light around them, clockwise as seen."""
        self._parameters.minMarkerPerimeterRate = 4 * _MIN_SIDE_PX / max(grey.shape)
        detector = cv2.aruco.ArucoDetector(self._dictionary, self._parameters)
        decoded, _, undecoded = detector.detectMarkers(searched)
        quads = [np.asarray(quad, dtype=np.float64)[0] for quad in (*decoded, *undecoded)]
        if not quads:
            return []
        clockwise = np.stack([quad if _signed_area(quad) > 0 else quad[::-1] for quad in quads])
        return list(clockwise[_look_like_squares(grey, clockwise)])

    def _read_card(self, grey: Pixels, quad: Floats) -> DetectedCard | None:
        """Return the card inside a proposed outline, or None."""
        low = np.floor(quad.min(axis=0) - 0.35 * np.ptp(quad, axis=0)).astype(int)
        high = np.ceil(quad.max(axis=0) + 0.35 * np.ptp(quad, axis=0)).astype(int) + 1
        low, high = np.maximum(low, 0), np.minimum(high, grey.shape[::-1])
        light = _LIGHT[grey[low[1] : high[1], low[0] : high[0]]].astype(np.float32)
        corners = _refine_corners(light, quad - low)
        if corners is None:
            return None
        bits = _read_modules(light, corners)
        if bits is None:
            return None
        for quarter_turns in range(4):
            upright = np.ascontiguousarray(np.rot90(bits, quarter_turns))
            number = self._number_of.get(upright.tobytes())
            if number is not None:
                turned = np.roll(corners, -quarter_turns, axis=0) + low
                return DetectedCard(id=number, corners_px=turned)
        return None


def card_bits(number: int) -> NDArray[np.bool_]:
    """Return the (6, 6) modules of a card as printed, True where white.

    Parameters
    ----------
    number : int
        Card number, 0–999.
    """
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000)
    return np.asarray(cv2.aruco.generateImageMarker(dictionary, number, MODULES)) > 127


def _as_light_picture(grey: Pixels) -> Pixels:
    """Return the picture in linear light, the brightest 1 % at white."""
    counts = np.bincount(grey.ravel(), minlength=256)
    bright = int(np.searchsorted(np.cumsum(counts), 0.99 * grey.size))
    table = np.clip(255.0 * _LIGHT / max(_LIGHT[bright], _LIGHT[8]), 0, 255).astype(np.uint8)
    return np.asarray(cv2.LUT(grey, table), dtype=np.uint8)


def _signed_area(quad: Floats) -> float:
    """Return the area [px²] of a polygon, positive if clockwise as seen (y down)."""
    x, y = quad.T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _look_like_squares(grey: Pixels, quads: Floats) -> NDArray[np.bool_]:
    """Tell which (n, 4, 2) outlines are large enough and darker inside than outside all round."""
    along = np.linspace(0.15, 0.85, 9)[:, None]
    start = quads[:, :, None]
    edge = np.roll(quads, -1, axis=1)[:, :, None] - start
    length = np.linalg.norm(edge, axis=-1, keepdims=True)
    inward = np.stack([-edge[..., 1], edge[..., 0]], axis=-1) / MODULES
    on_edge = start + edge * along
    height, width = grey.shape

    def sample(points: Floats) -> Floats:
        x = np.clip(np.rint(points[..., 0]).astype(int), 0, width - 1)
        y = np.clip(np.rint(points[..., 1]).astype(int), 0, height - 1)
        return np.asarray(np.median(_LIGHT[grey[y, x]], axis=-1), dtype=np.float64)

    inside, outside = sample(on_edge + 0.5 * inward), sample(on_edge - 0.5 * inward)
    large = (length[..., 0, 0] >= _MIN_SIDE_PX * 0.7).all(axis=1)
    contrast = (outside > _MIN_CONTRAST * inside).all(axis=1)
    return np.asarray(contrast & large, dtype=np.bool_)


def _refine_corners(light: NDArray[np.float32], quad: Floats) -> Floats | None:
    """Return the (4, 2) corners where ink ends, or None if an edge is not clear.

    Each edge becomes a line through the half-way points of profiles across it; neighbouring lines
    meet in the corners. Profiles reach half a module to either side, where the print is plain black
    and plain white, and their place follows the corners, so the fit is repeated.
    """
    corners = quad
    for _ in range(_REFINEMENTS):
        lines = [
            _fit_edge(light, start, end)
            for start, end in pairwise([corners[0], corners[1], corners[2], corners[3], corners[0]])
        ]
        clear = [line for line in lines if line is not None]
        if len(clear) < 4:
            return None
        moved = np.array([_meet(clear[k - 1], clear[k]) for k in range(4)])
        step = float(np.abs(moved - corners).max())
        side = float(np.sqrt(abs(_signed_area(quad))))
        if not np.isfinite(step) or np.abs(moved - quad).max() > 0.25 * side:
            return None
        corners = moved
        if step < 0.01:
            break
    return corners


def _fit_edge(
    light: NDArray[np.float32], start: Floats, end: Floats
) -> tuple[Floats, Floats] | None:
    """Return two points of the line along which black becomes white between two corners."""
    edge = end - start
    length = float(np.linalg.norm(edge))
    outward = np.array([edge[1], -edge[0]]) / length
    reach = 0.5 * length / MODULES
    # Half a module stays free at both ends: there the neighbouring edge's blur reaches in.
    along = np.linspace(0.5, MODULES - 0.5, max(12, int(length))) / MODULES
    across = np.linspace(-reach, reach, 2 * max(8, int(6 * reach)) + 1)
    points = (start + along[:, None] * edge)[:, None] + across[:, None] * outward
    profiles = _sample_light(light, points)

    tail = max(2, len(across) // 8)
    black = np.median(profiles[:, :tail], axis=1)
    white = np.median(profiles[:, -tail:], axis=1)
    clear = white > _MIN_CONTRAST * black
    if clear.mean() < _MIN_CLEAR_SHARE:
        return None
    offset = _dark_length(profiles - 0.5 * (black + white)[:, None], across) - reach
    intercept, slope = _fit_line_robustly(along[clear], offset[clear])
    return start + outward * intercept, end + outward * (intercept + slope)


def _sample_light(light: NDArray[np.float32], points: Floats) -> Floats:
    """Return light at (…, 2) points, bilinear, edge pixels repeated."""
    grid = points.reshape(points.shape[0], -1, 2).astype(np.float32)
    sampled = cv2.remap(
        light, grid[..., 0], grid[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(sampled, dtype=np.float64).reshape(points.shape[:-1])


def _dark_length(above_half: Floats, across: Floats) -> Floats:
    """Return how much of each profile lies below zero [px].

    Counting length, not taking the first or last crossing, keeps noise from pulling the edge.
    """
    near, far = above_half[:, :-1], above_half[:, 1:]
    dark = np.maximum(-near, 0) + np.maximum(-far, 0)
    share = dark / np.maximum(np.abs(near) + np.abs(far), 1e-12)
    return np.asarray(share.sum(axis=1) * (across[1] - across[0]), dtype=np.float64)


def _fit_line_robustly(x: Floats, y: Floats) -> tuple[float, float]:
    """Return intercept and slope of y over x, outliers weighted down (Huber)."""
    design = np.stack([np.ones_like(x), x], axis=1)
    weight = np.ones_like(x)
    coefficients = np.zeros(2)
    for _ in range(5):
        root = np.sqrt(weight)
        coefficients = np.linalg.lstsq(design * root[:, None], y * root, rcond=None)[0]
        residual = np.abs(y - design @ coefficients)
        scale = 1.4826 * float(np.median(residual)) + 1e-6
        weight = np.minimum(1.0, 1.345 * scale / np.maximum(residual, 1e-12))
    return float(coefficients[0]), float(coefficients[1])


def _meet(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> Floats:
    """Return where two lines, each given by two points, cross; not finite if parallel."""
    along, across = one[1] - one[0], other[1] - other[0]
    between = other[0] - one[0]
    determinant = along[0] * across[1] - along[1] * across[0]
    if determinant == 0:
        return np.full(2, np.nan)
    share = (between[0] * across[1] - between[1] * across[0]) / determinant
    return np.asarray(one[0] + share * along, dtype=np.float64)


def _read_modules(light: NDArray[np.float32], corners: Floats) -> NDArray[np.bool_] | None:
    """Return the (4, 4) pattern, True where white, or None unless print and surround are clear."""
    printed = np.array([[0, 0], [MODULES, 0], [MODULES, MODULES], [0, MODULES]], dtype=np.float32)
    homography = cv2.getPerspectiveTransform(printed, corners.astype(np.float32))
    inner = np.array([-0.2, 0.0, 0.2])
    # One ring of modules outside the square belongs to the white quiet zone.
    centres = np.arange(-1, MODULES + 1) + 0.5
    axis = (centres[:, None] + inner).ravel()
    x, y = np.meshgrid(axis, axis)
    to_picture = np.asarray(homography, dtype=np.float64)
    plane = np.stack([x, y, np.ones_like(x)], axis=-1) @ to_picture.T
    if not (plane[..., 2] > 0).all():
        return None
    sampled = _sample_light(light, plane[..., :2] / plane[..., 2:])
    modules = sampled.reshape(len(centres), 3, len(centres), 3).mean(axis=(1, 3))

    # Light may fall unevenly: what white and black are is taken from the ring and the border in the
    # module's own row and column, the nearer counting more.
    last = MODULES + 1
    white = _level_from_sides(modules, first=0, last=last)[1:-1, 1:-1]
    black = _level_from_sides(modules, first=1, last=last - 1)[2:-2, 2:-2]
    border = np.ones((MODULES, MODULES), dtype=bool)
    border[1:-1, 1:-1] = False
    if not (white[border] > _MIN_CONTRAST * modules[1:-1, 1:-1][border]).all():
        return None
    white = white[1:-1, 1:-1]
    signed = (2 * modules[2:-2, 2:-2] - white - black) / np.maximum(white - black, 1e-9)
    return np.asarray(signed > 0) if (np.abs(signed) > _MIN_MARGIN).all() else None


def _level_from_sides(modules: Floats, *, first: int, last: int) -> Floats:
    """Return for each module the mean of the four modules in rows and columns `first` and `last`.

    Each counts by one over its distance. Defined strictly between `first` and `last`.
    """
    place = np.arange(len(modules))
    before = 1 / np.maximum(place - first, 0.5)
    after = 1 / np.maximum(last - place, 0.5)
    total = before + after
    across = modules[:, [first]] * before + modules[:, [last]] * after
    down = modules[[first], :] * before[:, None] + modules[[last], :] * after[:, None]
    return np.asarray((across + down) / (total + total[:, None]), dtype=np.float64)
