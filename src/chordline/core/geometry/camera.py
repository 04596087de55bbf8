"""One pinhole camera and a square card of known size: how far, how high, how square.

Camera axes: x right, y down, z forward. Card axes: x right, y up, z towards the camera side,
origin in the centre of the black square.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.plane import fit_homography

#: 35 mm film is 36 mm wide and 24 mm high (ISO 1007): a focal length "in 35 mm" is per diagonal.
_FILM_DIAGONAL_MM = float(np.hypot(36.0, 24.0))
#: Main cameras of phones lie near 26 mm (assumption); one in three is off by more than a fifth.
DEFAULT_FOCAL_35MM = 26.0
DEFAULT_FOCAL_REL_SD = 0.2
#: Focal lengths from EXIF are rounded to whole millimetres and blur with focus (assumption).
EXIF_FOCAL_REL_SD = 0.03
#: Upright in front of a level camera: a half turn about x.
_FRONTAL = np.diag([1.0, -1.0, -1.0])


@dataclass(frozen=True)
class Camera:
    """A pinhole without distortion.

    Attributes
    ----------
    focal_px : float
    focal_rel_sd : float
        Relative error of the focal length.
    centre_px : (2,) float array
    """

    focal_px: float
    focal_rel_sd: float
    centre_px: Floats

    @classmethod
    def of_photo(cls, width_px: int, height_px: int, focal_35mm: float | None) -> "Camera":
        """Return the camera of a photo; without an EXIF focal length, of an ordinary phone.

        Cameras note the focal length of a picture whose diagonal is that of 35 mm film.
        """
        film_mm, rel_sd = (
            (DEFAULT_FOCAL_35MM, DEFAULT_FOCAL_REL_SD)
            if focal_35mm is None
            else (focal_35mm, EXIF_FOCAL_REL_SD)
        )
        focal_px = film_mm / _FILM_DIAGONAL_MM * float(np.hypot(width_px, height_px))
        return cls(focal_px, rel_sd, np.array([(width_px - 1) / 2.0, (height_px - 1) / 2.0]))


@dataclass(frozen=True)
class CardPose:
    """Where the camera stands, seen from the card.

    Attributes
    ----------
    yaw, roll : Estimate [rad]
        Turn of the card's plane about the vertical, 0 when square to the camera; turn of the
        camera about its viewing axis, positive when the picture has to be turned clockwise.
    distance_m : Estimate
        Camera to the card's centre.
    camera_height_m : Estimate
        Camera above the card's centre, along the card's upright.
    ahead_px : (2,) float array
        Vanishing point of the card's normal: where a point that comes nearer moves away from.
    """

    yaw: Estimate
    roll: Estimate
    distance_m: Estimate
    camera_height_m: Estimate
    ahead_px: Floats


def card_points(side_m: float) -> Floats:
    """Return the (4, 2) corners [m] of a square card: top left, clockwise as seen."""
    h = side_m / 2.0
    return np.array([[-h, h], [h, h], [h, -h], [-h, -h]])


def project(camera: Camera, rotation: Floats, translation: Floats, points: Floats) -> Floats:
    """Return the (k, 2) pixels of (k, 3) points, given card-to-camera rotation and translation."""
    seen = points @ rotation.T + translation
    return np.asarray(camera.focal_px * seen[:, :2] / seen[:, 2:] + camera.centre_px)


def locate_card(camera: Camera, corners_px: Floats, *, side_m: float, corner_sd_px: float) -> CardPose:
    """Return where the camera stands from the four corners of a square.

    Parameters
    ----------
    camera : Camera
    corners_px : (4, 2) float array [px]
        Top left, top right, bottom right, bottom left of the square.
    side_m : float
    corner_sd_px : float
        Error of a corner along each axis [px].

    Returns
    -------
    CardPose

    Notes
    -----
    Start: rotation and translation from the homography of the plane; then least squares of the
    reprojection. A small, nearly frontal square fits a yaw and its opposite almost alike; where
    the second minimum fits no worse than noise allows, the sd covers both.
    """
    plane = card_points(side_m)
    points = np.column_stack([plane, np.zeros(4)])
    start_rotation, start_translation = _from_homography(camera, plane, corners_px)

    def residuals(parameters: Floats) -> Floats:
        rotation = Rotation.from_rotvec(parameters[:3]).as_matrix() @ _FRONTAL
        seen = project(camera, rotation, parameters[3:], points)
        return np.asarray((seen - corners_px).ravel() / corner_sd_px)

    turn = Rotation.from_matrix(start_rotation @ _FRONTAL.T)
    fits = []
    for yaw_sign in (1.0, -1.0):
        vector = turn.as_rotvec() * np.array([1.0, yaw_sign, 1.0])
        fit = least_squares(
            residuals, np.concatenate([vector, start_translation]), x_scale="jac", method="lm"
        )
        fits.append((2.0 * fit.cost, fit))
    fits.sort(key=lambda item: item[0])
    (best_cost, best), (other_cost, other) = fits
    rotation = Rotation.from_rotvec(best.x[:3]).as_matrix() @ _FRONTAL
    cov = np.linalg.pinv(best.jac.T @ best.jac)

    def describe(parameters: Floats) -> Floats:
        turned = Rotation.from_rotvec(parameters[:3]).as_matrix() @ _FRONTAL
        shift = parameters[3:]
        normal = turned[:, 2]
        camera_in_card = -turned.T @ shift
        upright = turned[:, 1]
        return np.array(
            [
                np.arctan2(normal[0], -normal[2]),
                np.arctan2(upright[0], -upright[1]),
                np.linalg.norm(shift),
                camera_in_card[1],
            ]
        )

    values = describe(best.x)
    steps = np.eye(6) * 1e-6
    slopes = np.array([(describe(best.x + s) - describe(best.x - s)) / 2e-6 for s in steps]).T
    sds = np.sqrt(np.clip(np.diag(slopes @ cov @ slopes.T), 0.0, None))
    if other_cost - best_cost < _AMBIGUOUS_COST:
        sds[0] = max(sds[0], abs(values[0] - describe(other.x)[0]) / 2.0)
    sds[2:] = np.hypot(sds[2:], np.abs(values[2:]) * camera.focal_rel_sd)
    yaw, roll, distance, height = (
        Estimate(float(v), float(s)) for v, s in zip(values, sds, strict=True)
    )
    ahead = camera.focal_px * rotation[:2, 2] / rotation[2, 2] + camera.centre_px
    return CardPose(yaw, roll, distance, height, np.asarray(ahead))


#: 95 % point of chi-squared with one degree of freedom: a worse fit by less than this is noise.
_AMBIGUOUS_COST = 3.84


def _from_homography(camera: Camera, plane: Floats, corners_px: Floats) -> tuple[Floats, Floats]:
    h = fit_homography(plane, (corners_px - camera.centre_px) / camera.focal_px)
    if h[2, 2] < 0:
        h = -h
    scale = (np.linalg.norm(h[:, 0]) + np.linalg.norm(h[:, 1])) / 2.0
    x_axis, y_axis, translation = h[:, 0] / scale, h[:, 1] / scale, h[:, 2] / scale
    rough = np.column_stack([x_axis, y_axis, np.cross(x_axis, y_axis)])
    u, _, vt = np.linalg.svd(rough)
    return np.asarray(u @ np.diag([1.0, 1.0, np.linalg.det(u @ vt)]) @ vt), translation


def seen_when_lying(angle: Floats, yaw: Floats) -> Floats:
    """Return the angle that a camera sees of a deviation from a horizontal body line.

    Parameters
    ----------
    angle, yaw : float arrays [rad]
        True angle to the line; turn of the body line out of the picture plane.

    Notes
    -----
    tan θ' = tan θ / cos ψ: yaw makes a lying body look more bent.
    """
    return np.asarray(np.arctan(np.tan(angle) / np.cos(yaw)))


def seen_when_upright(angle: Floats, yaw: Floats) -> Floats:
    """Return the angle that a camera sees of a deviation from a vertical body line.

    Notes
    -----
    tan θ' = tan θ · cos ψ: a badly squared handstand looks straighter than it is.
    """
    return np.asarray(np.arctan(np.tan(angle) * np.cos(yaw)))
