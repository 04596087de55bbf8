"""From a gymnast's screen to her sheet."""

from collections.abc import Sequence
from dataclasses import replace

from chordline.application.findings import Findings
from chordline.application.ports import PhotoReader
from chordline.application.screen_folder import Filed, GymnastScreen, LeftOut
from chordline.application.sheet import Faces, GymnastSheet, SheetPhoto
from chordline.application.sheet_findings import findings_for_sheet
from chordline.application.sheet_forecast import forecast_for_sheet, handstand_among
from chordline.application.wording import describe_measurement, headline_of
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.errors import PhotoStoreError

#: Long side of the pictures on a sheet: sharp on A4 and on a tablet [px].
SHEET_PICTURE_PX = 1800

CARE = (
    "chordline is not a medical device. It describes shapes and never diagnoses.",
    "Pain, numbness, a one-sided change, back pain on arching or wrist pain: stop, and let a "
    "licensed clinician look at it.",
    "Never force a stretch on a child. Hands-on help is for trained coaches, with mats and "
    "spotters; local safeguarding rules come first.",
)


class MakeSheet:
    """Use case: put one gymnast's measured photos onto a sheet."""

    def __init__(self, reader: PhotoReader, catalogue: Catalogue) -> None:
        self._reader = reader
        self._catalogue = catalogue

    def __call__(
        self,
        screen: GymnastScreen,
        *,
        left_out: Sequence[LeftOut],
        found: Findings | None = None,
        screened_on: str = "",
        faces: Faces = "hidden",
    ) -> GymnastSheet:
        """Return the sheet.

        Parameters
        ----------
        screen : GymnastScreen
        left_out : sequence of LeftOut
            Her photos that could not be measured.
        found : Findings, optional
            What the screen told of her.
        screened_on : str
        faces : {'hidden', 'shown'}
        """
        return GymnastSheet(
            gymnast=screen.gymnast.name,
            card=screen.gymnast.card,
            screened_on=screened_on,
            photos=tuple(self._photo(filed, faces) for filed in screen.filed),
            left_out=tuple(f"{one.file}: {one.reason}" for one in left_out),
            care=CARE,
            findings=None if found is None else findings_for_sheet(found, self._catalogue),
            forecast=None
            if found is None
            else forecast_for_sheet(
                found,
                self._catalogue,
                photo=handstand_among(filed.measurement for filed in screen.filed),
            ),
        )

    def _photo(self, filed: Filed, faces: Faces) -> SheetPhoto:
        told = replace(describe_photo(filed.measurement, self._catalogue), faces=faces)
        try:
            photo = filed.read()
        except PhotoStoreError:
            return told
        long_side = max(photo.width_px, photo.height_px)
        shrink = min(1.0, SHEET_PICTURE_PX / long_side)
        return replace(
            told,
            jpeg=self._reader.clean_jpeg(photo, max_px=SHEET_PICTURE_PX),
            jpeg_width_px=round(photo.width_px * shrink),
            jpeg_height_px=round(photo.height_px * shrink),
        )


def describe_photo(measurement: Measurement, catalogue: Catalogue) -> SheetPhoto:
    """Return what a measured photo says, without its picture."""
    test = catalogue.tests[measurement.test]
    lines = describe_measurement(measurement, test=test, catalogue=catalogue)
    return SheetPhoto(
        title=test.title,
        reads=test.reads,
        headline=headline_of(lines, accepted=measurement.trust.accepted),
        jpeg=None,
        jpeg_width_px=0,
        jpeg_height_px=0,
        measurement=measurement,
        chord=test.chord_among(measurement.landmarks),
        lines=lines,
        front=measurement.front,
        caution=test.care,
    )
