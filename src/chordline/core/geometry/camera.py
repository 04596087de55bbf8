"""One pinhole camera and a square card of known size: how far, how high, how square.

Camera axes: x right, y down, z forward. Card axes: x right, y up, z towards the camera side,
origin in the centre of the black square.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.plane import fit_homography
from chordline.core.geometry.propagation import gaussian_points

#: 35 mm film is 36 mm wide and 24 mm high (ISO 1007): a focal length "in 35 mm" is per diagonal.
_FILM_DIAGONAL_MM = float(np.hypot(36.0, 24.0))
#: Main cameras of phones lie near 26 mm (assumption); one in three is off by more than a fifth.
DEFAULT_FOCAL_35MM = 26.0
DEFAULT_FOCAL_REL_SD = 0.2
#: Focal lengths from EXIF are rounded to whole millimetres and blur with focus (assumption).
EXIF_FOCAL_REL_SD = 0.03
#: Usual tilt of a card that is put up to be seen, about either axis (assumption; 29°).
_TILT_SD_RAD = 0.5
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
        camera about its viewing axis, positive when uprights lean to the right in the picture.
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


def locate_card(
    camera: Camera, corners_px: Floats, *, side_m: float, corner_sd_px: float
) -> CardPose:
    """Return where the camera stands from the four corners of a square.

    Parameters
    ----------
    camera : Camera
    corners_px : (4, 2) float array [px]
        Top left, top right, bottom right, bottom left of the square.
    side_m : float
    corner_sd_px : float
        Error of a corner along each axis [px], > 0.

    Returns
    -------
    CardPose
        Mean and sd over all poses that fit the corners, weighted by how well they fit.

    Notes
    -----
    A small, nearly frontal square fits a tilt and its mirror image along the line of sight almost
    alike, and between the two the fit is flat: the best pose alone, with the slope around it, has
    far too small an error. So both minima of the reprojection error are found (the first from the
    homography of the plane, the second from the first one's mirror image), and the moments are
    taken over draws around both, weighted by likelihood over density of the draws (importance
    sampling over a fixed set of points). Known beforehand: the focal length within the camera's
    error, and that a card is put up to be seen, so that large tilts are rare.
    """
    points = np.column_stack([card_points(side_m), np.zeros(4)])

    def unpack(poses: Floats) -> tuple[Floats, Floats, Floats]:
        rotations = (
            scipy.spatial.transform.Rotation.from_rotvec(poses[:, :3]).as_matrix() @ _FRONTAL
        )
        stretch = np.exp(camera.focal_rel_sd * poses[:, 6])
        # A longer lens farther away sees the same: depth is counted in focal lengths.
        depth = poses[:, 5] * stretch
        return rotations, np.column_stack([poses[:, 3:5], depth]), stretch

    def residuals(poses: Floats) -> Floats:
        rotations, shifts, stretch = unpack(poses)
        seen = points @ rotations.transpose(0, 2, 1) + shifts[:, None, :]
        focal_px = camera.focal_px * stretch[:, None, None]
        misses = focal_px * seen[..., :2] / seen[..., 2:] + camera.centre_px - corners_px
        fit = misses.reshape(len(poses), -1) / corner_sd_px
        return np.column_stack([fit, poses[:, :2] / _TILT_SD_RAD, poses[:, 6]])

    def residuals_of_one(pose: Floats) -> Floats:
        return np.asarray(residuals(pose[None])[0])

    steps = np.eye(7) * _SLOPE_STEP

    def slopes_of_one(pose: Floats) -> Floats:
        both = residuals(np.concatenate([pose + steps, pose - steps]))
        return np.asarray((both[:7] - both[7:]).T / (2.0 * _SLOPE_STEP))

    def fit_from(rotation: Floats, shift: Floats) -> tuple[Floats, Floats]:
        turn = scipy.spatial.transform.Rotation.from_matrix(rotation @ _FRONTAL.T).as_rotvec()
        start = np.concatenate([turn, shift, [0.0]])
        fit = scipy.optimize.least_squares(
            residuals_of_one, start, jac=slopes_of_one, x_scale="jac", method="lm"
        )
        slopes = np.asarray(fit.jac, dtype=np.float64)
        return np.asarray(fit.x), np.asarray(np.linalg.pinv(slopes.T @ slopes))

    first = fit_from(*_from_homography(camera, card_points(side_m), corners_px))
    (rotation,), (shift,), _ = unpack(first[0][None])
    second = fit_from(_mirror_tilt(rotation, shift), shift)

    poses, weights = _draw_poses((first, second), residuals)
    rotations, shifts, stretch = unpack(poses)
    normals, uprights = rotations[:, :, 2], rotations[:, :, 1]
    camera_in_card = -np.einsum("nij,ni->nj", rotations, shifts)
    described = np.column_stack(
        [
            np.arctan2(normals[:, 0], -normals[:, 2]),
            np.arctan2(uprights[:, 0], -uprights[:, 1]),
            np.linalg.norm(shifts, axis=1),
            camera_in_card[:, 1],
        ]
    )
    values = weights @ described
    sds = np.sqrt(weights @ (described - values) ** 2)
    yaw, roll, distance, height = (
        Estimate(float(v), float(s)) for v, s in zip(values, sds, strict=True)
    )
    ahead = camera.focal_px * stretch[:, None] * normals[:, :2] / normals[:, 2:]
    return CardPose(yaw, roll, distance, height, np.asarray(weights @ ahead + camera.centre_px))


#: Step of the central differences in radians, metres and log focal length alike: far above
#: rounding, far below any error.
_SLOPE_STEP = 1e-6

#: Spread of the draws around each minimum, in units of its own error. The wide half reaches what
#: lies between two minima and their tails.
_DRAW_SPREADS = (1.0, 2.5)


def _draw_poses(
    minima: Sequence[tuple[Floats, Floats]], residuals: Callable[[Floats], Floats]
) -> tuple[Floats, Floats]:
    """Return (n, 7) poses around the minima and their (n,) posterior weights, which sum to 1."""
    standard = gaussian_points(7, count=1024)
    clouds = [
        (place, spread * np.linalg.cholesky(cov))
        for place, cov in minima
        for spread in _DRAW_SPREADS
    ]
    poses = np.concatenate([place + standard @ root.T for place, root in clouds])
    log_density = np.logaddexp.reduce(
        [
            -0.5 * (np.linalg.solve(root, (poses - place).T) ** 2).sum(axis=0)
            - np.log(np.diag(root)).sum()
            for place, root in clouds
        ]
    )
    log_weight = -0.5 * (residuals(poses) ** 2).sum(axis=1) - log_density
    weights = np.exp(log_weight - log_weight.max())
    return poses, np.asarray(weights / weights.sum())


def _mirror_tilt(rotation: Floats, shift: Floats) -> Floats:
    """Return the card's other rotation that looks the same from far away.

    From afar, what the two axes of the plane have along the line of sight is not seen: its sign may
    change.
    """
    sight = shift / np.linalg.norm(shift)
    mirror = np.eye(3) - 2.0 * np.outer(sight, sight)
    return np.asarray(mirror @ rotation @ np.diag([1.0, 1.0, -1.0]))


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
