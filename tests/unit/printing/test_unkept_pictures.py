"""Sheets of photos whose pictures are not kept any more: the drawing stays, and it is said."""

from dataclasses import replace

from sample_sheets import photo_of

from application_doubles import FakeReader
from chordline.adapters.printing.crop import body_view, crop_picture
from chordline.adapters.printing.line_shape import read_shape
from chordline.adapters.printing.overlay import overlay
from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.sheet_view import NOT_KEPT, view_sheet
from chordline.application.folder import Gymnast
from chordline.application.make_sheet import MakeSheet
from chordline.application.ports import Photo
from chordline.application.screen_folder import Filed, GymnastScreen
from chordline.application.sheet import GymnastSheet
from chordline.errors import PhotoStoreError
from screen_stories import CATALOGUE, photo

KEPT = photo_of("12_handstand.jpg")
UNKEPT = replace(KEPT, jpeg=None, jpeg_width_px=0, jpeg_height_px=0)


def test_the_body_fills_the_drawing_as_it_would_the_picture() -> None:
    jpeg, view = crop_picture(UNKEPT)
    assert jpeg is None
    assert view == body_view(KEPT.measurement)


def test_the_sheet_says_so_and_draws_on_a_plain_ground() -> None:
    sheet = GymnastSheet("Mirela", 12, "", (KEPT, UNKEPT), (), ())
    kept, unkept = view_sheet(sheet).tests
    assert NOT_KEPT not in kept.notes
    assert unkept.notes[0] == NOT_KEPT
    assert unkept.headline == kept.headline
    assert "<image" in kept.picture
    assert "<image" not in unkept.picture
    assert f'fill="{LIGHT.wash}"' in unkept.picture


def test_a_drawing_that_lies_over_a_picture_has_no_ground_of_its_own() -> None:
    shape = read_shape(KEPT.measurement, KEPT.chord)
    assert "<rect" not in overlay(KEPT.measurement, shape, title="line")
    assert "<rect" in overlay(KEPT.measurement, shape, title="line", ground=True)


def test_a_picture_that_is_gone_does_not_stop_the_sheet() -> None:
    def gone() -> Photo:
        raise PhotoStoreError("plain-x", "this picture is not kept (any more)")

    measurement = photo("prone-sides", {"hip": -20.0})
    screen = GymnastScreen(Gymnast("Mirela", 12), (Filed(measurement, gone),))
    sheet = MakeSheet(FakeReader(), CATALOGUE)(screen, left_out=())
    assert sheet.photos[0].jpeg is None
    assert sheet.photos[0].headline.startswith("Hips closed by 20°")
