"""What the card in the picture, or its absence, tells of the phone's place."""

from dataclasses import dataclass

import numpy as np

from chordline.application.ports import DetectedCard, Photo
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.conventions import CARD_FOOT_M, CARD_SIDE_M
from chordline.core.body.measurement import CardView, Scale
from chordline.core.body.systematic import Viewpoint
from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.camera import Camera, CardPose, locate_card
from chordline.core.geometry.plane import PlaneFrame

#: Scale from a card rests on its print and on it standing in her plane (assumption).
_CARD_SCALE_REL_SD = 0.01
#: Height of the body's line above the floor without a card: lying, and upside-down (assumption).
_LYING_M = 0.1
_UPSIDE_DOWN_M = 0.7


@dataclass(frozen=True)
class Scene:
    """The frame of the gymnast's plane and where it was seen from."""

    card: CardView | None
    scale: Scale | None
    frame: PlaneFrame
    pose: CardPose | None
    camera: Camera


def read_scene(photo: Photo, card: DetectedCard | None, catalogue: Catalogue) -> Scene:
    """Return what one photo's card tells; `card` in pixels of the full photo."""
    camera = Camera.of_photo(photo.width_px, photo.height_px, photo.focal_length_35mm)
    if card is None:
        return Scene(None, None, PlaneFrame.of_level_phone(), None, camera)
    corner_sd_px = catalogue.setting("card_corner_sd_px")
    pose = locate_card(camera, card.corners_px, side_m=CARD_SIDE_M, corner_sd_px=corner_sd_px)
    sides_px = np.linalg.norm(card.corners_px - np.roll(card.corners_px, 1, axis=0), axis=1)
    side_px = float(sides_px.mean())
    m_per_px = CARD_SIDE_M / side_px
    sd_rel = float(np.hypot(corner_sd_px / side_px, _CARD_SCALE_REL_SD))
    up = np.array([np.sin(pose.roll.value), -np.cos(pose.roll.value)])
    foot_m = CARD_SIDE_M / 2.0 + CARD_FOOT_M
    floor = card.corners_px.mean(axis=0) - up * foot_m / m_per_px
    height = Estimate(pose.camera_height_m.value + foot_m, pose.camera_height_m.sd)
    view = CardView(
        id=card.id,
        corners_px=card.corners_px,
        side_m=CARD_SIDE_M,
        roll_deg=_degrees(pose.roll),
        yaw_deg=_degrees(pose.yaw),
        distance_m=pose.distance_m,
        phone_height_m=height,
    )
    frame = PlaneFrame(up=up, m_per_px=m_per_px, floor_px=floor)
    return Scene(view, Scale(m_per_px, sd_rel, "card"), frame, pose, camera)


def view_of(scene: Scene, *, body_px: Floats, test: TestEntry, catalogue: Catalogue) -> Viewpoint:
    """Return the viewpoint for the systematic errors; from assumptions where no card stood.

    Parameters
    ----------
    scene : Scene
    body_px : (2,) float array [px]
        Middle of the body.
    """
    up = scene.frame.up
    if scene.pose is not None:
        pose, focal_px = scene.pose, scene.camera.focal_px
        rise = float((scene.camera.centre_px - pose.ahead_px) @ up / focal_px)
        tilt_sd = pose.camera_height_m.sd / pose.distance_m.value
        return Viewpoint(
            yaw_rad=pose.yaw,
            pitch_rad=Estimate(float(np.arctan(rise)), tilt_sd),
            ahead_px=pose.ahead_px,
            ahead_sd_px=focal_px * tilt_sd,
            distance_m=pose.distance_m.value,
        )
    distance_m = catalogue.setting("phone_distance_m")
    body_m = _UPSIDE_DOWN_M if test.group == "hands" else _LYING_M
    above_m = catalogue.setting("phone_height_m") - body_m
    above_sd_m = catalogue.setting("phone_height_sd_m")
    px_per_m = scene.camera.focal_px / distance_m
    ahead = body_px + up * above_m * px_per_m
    ahead[0] = scene.camera.centre_px[0]
    return Viewpoint(
        yaw_rad=Estimate(0.0, float(np.deg2rad(catalogue.setting("yaw_sd_deg")))),
        pitch_rad=Estimate(float(-np.arctan(above_m / distance_m)), above_sd_m / distance_m),
        ahead_px=ahead,
        ahead_sd_px=above_sd_m * px_per_m,
        distance_m=distance_m,
    )


def _degrees(angle: Estimate) -> Estimate:
    return Estimate(float(np.rad2deg(angle.value)), float(np.rad2deg(angle.sd)))
