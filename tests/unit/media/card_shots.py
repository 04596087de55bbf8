"""Photographs printed cards with an ideal camera: light first, the file's curve last.

A card is seen through a known homography, its light is averaged over the lens's blur and each
pixel's area, and only then stored through the sRGB curve, with noise and JPEG, as a camera does it.
"""

from dataclasses import dataclass

import cv2
import numpy as np

FOCAL_PX = 1600.0
CORNERS = np.array([[-0.5, -0.5, 0], [0.5, -0.5, 0], [0.5, 0.5, 0], [-0.5, 0.5, 0]])


@dataclass(frozen=True)
class Scene:
    """Light of paper, ink and ground (1 = clipping), blur's sd [px], noise's sd (stored, 0–1)."""

    white: float = 0.7
    black: float = 0.03
    ground: float = 0.2
    blur_px: float = 0.6
    noise: float = 0.01
    quality: int = 88
    quiet_modules: float = 1.5


def shoot_card(
    number: int,
    *,
    side_px: float,
    yaw_deg: float = 0,
    pitch_deg: float = 0,
    roll_deg: float = 0,
    scene: Scene = Scene(),
    seed: int = 0,
    finer: int = 6,
) -> tuple[np.ndarray, np.ndarray]:
    """Return an (n, n, 3) picture and the true (4, 2) corners, pixel centres at whole numbers."""
    rng = np.random.default_rng(seed)
    size = int(side_px * 2.2) + 40
    posed = CORNERS @ _rotation(yaw_deg, pitch_deg, roll_deg).T
    posed[:, 2] += FOCAL_PX / side_px
    centre = size / 2 + rng.uniform(-0.5, 0.5, 2)
    corners = FOCAL_PX * posed[:, :2] / posed[:, 2:] + centre

    printed = np.array([[0, 0], [6, 0], [6, 6], [0, 6]], np.float32)
    to_card = np.linalg.inv(cv2.getPerspectiveTransform(printed, corners.astype(np.float32)))
    axis = (np.arange(size * finer) + 0.5) / finer - 0.5
    x, y = np.meshgrid(axis, axis)
    u, v, w = np.einsum("ij,jhw->ihw", to_card, np.stack([x, y, np.ones_like(x)]))
    u, v = u / w, v / w
    light = np.full(x.shape, scene.ground)
    quiet = scene.quiet_modules
    light[(u > -quiet) & (u < 6 + quiet) & (v > -quiet) & (v < 6 + quiet)] = scene.white
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000)
    modules = cv2.aruco.generateImageMarker(dictionary, number, 6) > 127
    inside = (u >= 0) & (u < 6) & (v >= 0) & (v < 6)
    white = modules[v[inside].astype(int), u[inside].astype(int)]
    light[inside] = np.where(white, scene.white, scene.black)

    light = cv2.GaussianBlur(light, (0, 0), scene.blur_px * finer)
    light = light.reshape(size, finer, size, finer).mean(axis=(1, 3))
    return develop(light, scene=scene, rng=rng), corners


def develop(light: np.ndarray, *, scene: Scene, rng: np.random.Generator) -> np.ndarray:
    """Return the (h, w, 3) picture that a camera stores for (h, w) light."""
    light = np.clip(light, 0, 1)
    curve = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    stored = np.clip(curve + rng.normal(0, scene.noise, light.shape), 0, 1)
    grey = (255 * stored + 0.5).astype(np.uint8)
    _, coded = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, scene.quality])
    return np.repeat(cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE)[..., None], 3, axis=2)


def mean_side_px(corners: np.ndarray) -> float:
    """Return the mean length of a square's four sides."""
    return float(np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1).mean())


def _rotation(yaw_deg: float, pitch_deg: float, roll_deg: float) -> np.ndarray:
    (cy, cp, cr), (sy, sp, sr) = (
        f(np.radians([yaw_deg, pitch_deg, roll_deg])) for f in (np.cos, np.sin)
    )
    about_y = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    about_x = np.array([[1, 0, 0], [0, cp, -sp], [0, sp, cp]])
    about_z = np.array([[cr, -sr, 0], [sr, cr, 0], [0, 0, 1]])
    return about_z @ about_x @ about_y
