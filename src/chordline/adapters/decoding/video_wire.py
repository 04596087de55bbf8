"""Sizes that both sides of the decoding of videos agree on."""

from typing import Final

from chordline.adapters.decoding.asked_bytes import MOST_AT_ONCE
from chordline.adapters.media.photo_reader import MAX_WORKING_PX

#: Frames that may be ready before one is taken.
SLOTS: Final = 6
#: Room for a frame: `video_file.TRACKING_PX` squared, three bytes a pixel.
SLOT_BYTES: Final = 3 * 960 * 960
#: Room for the frames, or for one picture in full size.
SHARED_BYTES: Final = max(SLOTS * SLOT_BYTES, 3 * MAX_WORKING_PX**2)
MOST_DATA_BYTES: Final = MOST_AT_ONCE
