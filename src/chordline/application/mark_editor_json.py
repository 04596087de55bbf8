"""What the mark editor in the browser needs to know, as JSON-ready dictionaries.

The keys are those of `web/static/js/editor/mark_editor.js`.
"""

from typing import Any

from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.core.body.systematic import Viewpoint
from chordline.core.geometry.plane import PlaneFrame

_WORDS = ("label", "zero", "positive", "negative", "on_line", "close")


def words_to_json(catalogue: Catalogue) -> dict[str, Any]:
    """Return the words of every measure, and from which probability on a word is said."""
    return {
        "certainty": catalogue.setting("certainty"),
        "measures": {
            name: {key: getattr(entry, key) for key in _WORDS}
            for name, entry in catalogue.measures.items()
        },
    }


def battery_test_to_json(test_id: str, test: TestEntry) -> dict[str, Any]:
    """Return what the editor measures and judges in one test."""
    return {
        "id": test_id,
        "title": test.title,
        "chord": list(test.chord),
        "measures": list(test.measures),
        "judged": dict(test.judged),
    }


def frame_to_json(frame: PlaneFrame) -> dict[str, Any]:
    """Return gravity, floor and scale."""
    floor = None if frame.floor_px is None else frame.floor_px.tolist()
    return {"up": frame.up.tolist(), "m_per_px": frame.m_per_px, "floor_px": floor}


def view_to_json(view: Viewpoint, catalogue: Catalogue) -> dict[str, Any]:
    """Return where the phone stood, for marks that a hand set."""
    stature_m = catalogue.setting("stature_m")
    return {
        "yaw_rad": {"value": view.yaw_rad.value, "sd": view.yaw_rad.sd},
        "pitch_rad": {"value": view.pitch_rad.value, "sd": view.pitch_rad.sd},
        "ahead_px": view.ahead_px.tolist(),
        "ahead_sd_px": view.ahead_sd_px,
        "distance_m": view.distance_m,
        "half_breadth_m": {
            name: setting.value * stature_m for name, setting in catalogue.half_breadth.items()
        },
        "definition_pct": catalogue.setting("hand_definition_pct"),
    }
