"""A card is read wherever it may stand, and its black square is as large as it was printed."""

import cv2
import numpy as np
import pytest
from card_shots import Scene, develop, mean_side_px, shoot_card

from chordline.adapters.media.card_reader import ArucoCardReader, card_bits

pytestmark = pytest.mark.slow

READER = ArucoCardReader()


def read_one(rgb, number):
    cards = READER.read(rgb)
    assert [card.id for card in cards] == [number]
    return cards[0].corners_px


@pytest.mark.parametrize("side_px", [20, 30, 86, 220])
@pytest.mark.parametrize("yaw_deg", [-40, 0, 40])
def test_a_card_is_read_at_any_size_and_yaw(side_px, yaw_deg):
    rgb, truth = shoot_card(
        500 + side_px,
        side_px=side_px,
        yaw_deg=yaw_deg,
        pitch_deg=8,
        roll_deg=12,
        seed=side_px,
        finer=4,
    )
    corners = read_one(rgb, 500 + side_px)
    np.testing.assert_allclose(corners, truth, atol=0.25)
    assert mean_side_px(corners) == pytest.approx(mean_side_px(truth), rel=0.005)


@pytest.mark.parametrize("roll_deg", [0, 50, 90, 135, 180, 270])
def test_corners_follow_the_print_when_the_camera_is_rolled(roll_deg):
    rgb, truth = shoot_card(42, side_px=70, roll_deg=roll_deg, seed=1)
    np.testing.assert_allclose(read_one(rgb, 42), truth, atol=0.2)


@pytest.mark.parametrize("blur_px", [0.3, 0.7, 1.1, 1.6])
def test_blur_does_not_shorten_the_square(blur_px):
    # Judged in stored values the same squares read 0.7 to 2.4 % short (see the next test).
    rgb, truth = shoot_card(311, side_px=60, yaw_deg=15, scene=Scene(blur_px=blur_px))
    assert mean_side_px(read_one(rgb, 311)) == pytest.approx(mean_side_px(truth), rel=0.001)


def test_the_detectors_own_corners_are_short_which_is_why_edges_are_judged_in_light():
    rgb, truth = shoot_card(311, side_px=60, yaw_deg=15, scene=Scene(blur_px=1.1))
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000)
    corners, _, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(rgb[..., 0])
    assert mean_side_px(corners[0][0]) < 0.985 * mean_side_px(truth)


@pytest.mark.parametrize(
    "scene",
    [
        pytest.param(Scene(white=0.03, black=0.0015, ground=0.01, noise=0.012), id="dim"),
        pytest.param(Scene(white=0.97, black=0.06, ground=0.5), id="bright"),
        pytest.param(Scene(white=0.5, black=0.1), id="greyish-ink"),
        pytest.param(Scene(noise=0.03, quality=40), id="noisy-jpeg"),
        pytest.param(Scene(quiet_modules=1.0), id="narrow-margin"),
        pytest.param(Scene(ground=0.0), id="black-ground"),
    ],
)
@pytest.mark.parametrize("side_px", [24, 80])
def test_a_card_is_read_in_poor_light(scene, side_px):
    rgb, truth = shoot_card(77, side_px=side_px, yaw_deg=20, scene=scene, seed=3)
    assert mean_side_px(read_one(rgb, 77)) == pytest.approx(mean_side_px(truth), rel=0.015)


def test_burnt_out_paper_reads_short_by_less_than_the_scale_allows_at_the_usual_size():
    rgb, truth = shoot_card(77, side_px=86, scene=Scene(white=1.5, black=0.06, ground=0.5))
    error = mean_side_px(read_one(rgb, 77)) / mean_side_px(truth) - 1
    assert -0.015 < error < 0


def test_a_shadow_across_the_card_does_not_move_its_edges():
    rgb, truth = shoot_card(12, side_px=90, seed=4)
    shaded = rgb.copy()
    shaded[:, : rgb.shape[1] // 2] = (0.6 * shaded[:, : rgb.shape[1] // 2]).astype(np.uint8)
    # 0.6 of the stored value is about a third of the light.
    np.testing.assert_allclose(read_one(shaded, 12), truth, atol=0.25)


def test_a_finger_over_an_edge_does_not_move_it():
    rgb, truth = shoot_card(12, side_px=90, seed=4)
    left, top = truth[0].astype(int)
    rgb[top - 8 : top + 10, left + 30 : left + 45] = (200, 150, 120)
    np.testing.assert_allclose(read_one(rgb, 12), truth, atol=0.25)


def test_two_cards_are_both_there_the_larger_first_even_with_the_same_number():
    small, _ = shoot_card(9, side_px=40)
    large, _ = shoot_card(9, side_px=80)
    sheet = np.full((300, 500, 3), 120, np.uint8)
    sheet[20 : 20 + len(small), 20 : 20 + len(small)] = small
    sheet[40 : 40 + len(large), 230 : 230 + len(large)] = large
    cards = READER.read(sheet)
    assert [card.id for card in cards] == [9, 9]
    assert mean_side_px(cards[0].corners_px) == pytest.approx(80, rel=0.01)
    assert mean_side_px(cards[1].corners_px) == pytest.approx(40, rel=0.01)


def test_a_card_stays_in_place_in_a_large_picture():
    shot, truth = shoot_card(640, side_px=200, yaw_deg=10, finer=4)
    large = np.full((3000, 4000, 3), 90, np.uint8)
    large[1500 : 1500 + len(shot), 3000 : 3000 + len(shot)] = shot
    np.testing.assert_allclose(read_one(large, 640), truth + np.array([3000, 1500]), atol=0.2)


@pytest.mark.parametrize("seed", range(3))
def test_no_card_is_seen_in_noise_and_chequers(seed):
    rng = np.random.default_rng(seed)
    chequers = np.kron(rng.integers(0, 2, (75, 100)), np.ones((12, 12)))
    assert READER.read(develop(0.05 + 0.7 * chequers, scene=Scene(), rng=rng)) == ()
    noise = rng.integers(0, 256, (600, 800, 3), dtype=np.uint8)
    assert READER.read(noise) == ()


def test_a_square_with_a_pattern_of_no_card_is_left_alone():
    rgb, _ = shoot_card(5, side_px=90)
    mirrored = np.ascontiguousarray(rgb[:, ::-1])
    known = {card_bits(n)[1:5, 1:5].tobytes() for n in range(1000)}
    pattern = card_bits(5)[1:5, 1:5][:, ::-1]
    turned = [np.ascontiguousarray(np.rot90(pattern, k)).tobytes() for k in range(4)]
    assert not known & set(turned), "choose a number whose mirror image is no card"
    assert READER.read(mirrored) == ()


@pytest.mark.parametrize("ground", [0.03, 0.055])
def test_a_square_without_white_around_it_is_no_card(ground):
    rgb, _ = shoot_card(5, side_px=90, scene=Scene(quiet_modules=0.0, ground=ground, noise=0.002))
    assert READER.read(rgb) == ()


def test_a_square_with_a_hole_in_its_border_is_no_card():
    rgb, truth = shoot_card(5, side_px=90)
    read_one(rgb, 5)
    left, top = truth[0].astype(int)
    rgb[top + 4 : top + 13, left + 32 : left + 43] = 216  # in the third of six border modules
    assert READER.read(rgb) == ()


@pytest.mark.parametrize("shape", [(64, 64, 3), (64, 3000, 3)])
@pytest.mark.parametrize("value", [0, 255])
def test_an_empty_picture_has_no_card(shape, value):
    assert READER.read(np.full(shape, value, np.uint8)) == ()


def test_every_number_of_the_dictionary_has_its_own_pattern_in_any_rotation():
    seen = {}
    for number in range(1000):
        pattern = card_bits(number)[1:5, 1:5]
        for k in range(4):
            key = np.ascontiguousarray(np.rot90(pattern, k)).tobytes()
            assert seen.setdefault(key, number) == number
