"""A club's own errors laid over the catalogue, and over what was measured with our default."""

import hashlib
import json
from dataclasses import replace

import numpy as np

from chordline.application.club.records import Json
from chordline.application.days import day_in_words
from chordline.application.observations import is_by_hand
from chordline.application.repeatability.noise_json import noise_from_json
from chordline.application.repeatability.own_noise import OwnError
from chordline.application.repeatability.records import NoiseRecord
from chordline.catalogue.schema import Catalogue
from chordline.conventions import curve_of
from chordline.core.body.measurement import Measurement

#: Where these numbers come from: no source outside, and no assumption any more.
SOURCE = "own study"
MARK_SETTING = "hand_mark_sd_px"
#: Read from curves along the body, which no study of marks has.
_OF_CURVES = frozenset(
    (
        "upper_back_hollow_deg",
        "lower_back_hollow_deg",
        "seam_bow_pct",
        "seam_hollow_deg",
        "trunk_hollow_deg",
    )
)


def lay_noise(catalogue: Catalogue, noise: NoiseRecord | None) -> Catalogue:
    """Return a catalogue with a club's own errors over ours; unchanged without them.

    Its version changes, so that findings that rest on other errors are known to be older.

    Parameters
    ----------
    catalogue : Catalogue
        With our defaults and what the club's files say.
    noise : NoiseRecord or None
        Errors of tests and measures that the catalogue does not know (any more) are passed over.
    """
    if noise is None:
        return catalogue
    errors = noise_from_json(noise.record).errors
    by = f"{noise.author}, {day_in_words(noise.made_at)}"
    settings = dict(catalogue.settings)
    nuisances = dict(catalogue.nuisances)
    model = {test: dict(rows) for test, rows in catalogue.model.items()}
    for one in errors:
        if one.sd == one.default_sd:
            continue
        said = {"source": SOURCE, "reason": _reason(one, by)}
        if one.kind in ("marking", "definition") and one.name in settings:
            settings[one.name] = settings[one.name].model_copy(update={"value": one.sd, **said})
        elif one.kind == "offset" and one.name in nuisances:
            changed = {"hand_sd": one.sd, **said}
            nuisances[one.name] = nuisances[one.name].model_copy(update=changed)
        elif one.kind == "take" and one.name in model.get(one.test, {}):
            row = model[one.test][one.name]
            model[one.test][one.name] = row.model_copy(update={"repeat_sd": one.sd})
    return catalogue.model_copy(
        update={
            "version": f"{catalogue.version}+{_fingerprint(noise.record)}",
            "settings": settings,
            "nuisances": nuisances,
            "model": model,
        }
    )


def renew_marking(measurement: Measurement, *, ours: Catalogue, in_use: Catalogue) -> Measurement:
    """Return a measurement by hand as if its marks had the error that is in use now.

    Only where every joint was set by hand with our default error: marks that brought an error of
    their own keep it, and so do those of the automatic finder.
    """
    default_px, used_px = ours.setting(MARK_SETTING), in_use.setting(MARK_SETTING)
    joints = [mark for name, mark in measurement.landmarks.items() if curve_of(name) is None]
    alike = all(round(mark.sd_px, 2) == round(default_px, 2) for mark in joints)
    if used_px == default_px or not alike or not is_by_hand([measurement]):
        return measurement
    scale = used_px / default_px
    scales = {name: 1.0 if name in _OF_CURVES else scale for name in measurement.measures}
    each = np.array(list(scales.values()))
    return replace(
        measurement,
        landmarks={
            name: replace(mark, sd_px=mark.sd_px * scale) if curve_of(name) is None else mark
            for name, mark in measurement.landmarks.items()
        },
        measures={
            name: replace(one, sd=one.sd * scales[name])
            for name, one in measurement.measures.items()
        },
        covariance=measurement.covariance * np.outer(each, each),
    )


def _reason(one: OwnError, by: str) -> str:
    return (
        f"Our club's own study ({by}): {one.own_sd:.3g} {one.unit}, with a weight of "
        f"{one.own_share:.0%}; the rest is the default of {one.default_sd:.3g}."
    )


def _fingerprint(record: Json) -> str:
    text = json.dumps(record, sort_keys=True)
    return f"own-{hashlib.sha256(text.encode()).hexdigest()[:8]}"
