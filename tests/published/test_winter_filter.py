"""The filter of Winter (2009), Biomechanics and Motor Control of Human Movement.

The factor for two passes and the example (10 Hz wanted, 12.47 Hz for each pass) were read in the
notebooks of Duarte & Watanabe (BMClab/BMC, DataFiltering). Winter's data (table A.1) and
Pezzack's are not kept here, so the errors of acceleration that were published for them are not
recomputed; only what follows from the formulas is. The coefficients' formula and the mean frequency
of Prieto 1996 are from memory, with high confidence. Tolerances are half of the last printed digit.
"""

import numpy as np
import pytest

from chordline.core.motion.lowpass import LowPass, correct_for_passes
from chordline.core.motion.sway import Path, Sway, measure_sway


def test_two_passes_are_corrected_by_the_printed_factor() -> None:
    assert correct_for_passes(2) == pytest.approx(0.802, abs=0.0005)


def test_one_pass_is_not_corrected() -> None:
    assert correct_for_passes(1) == 1.0


def test_ten_hertz_are_asked_for_as_the_printed_frequency() -> None:
    assert 10.0 / correct_for_passes(2) == pytest.approx(12.47, abs=0.005)
    assert 10.0 / correct_for_passes(2) == pytest.approx(12.465, abs=0.0005)


def test_the_filter_is_the_printed_one_where_the_rate_is_high() -> None:
    """Below a hundredth of the rate, correcting the frequency or its tangent is the same."""
    b, _ = LowPass(10.0, 2_000.0).coefficients
    wanted = np.tan(np.pi * 12.465 / 2_000.0)
    k1, k2 = np.sqrt(2.0) * wanted, wanted**2
    assert b[0] == pytest.approx(k2 / (1.0 + k1 + k2), rel=1e-3)


def test_the_coefficients_add_up_as_printed() -> None:
    """Winter's rule of thumb: a0 + a1 + a2 + b1 + b2 = 1 (his b's have the other sign)."""
    b, a = LowPass(6.0, 60.0).coefficients
    assert b.sum() - a[1:].sum() == pytest.approx(1.0)


def test_prietos_form_for_one_axis_calls_a_sinusoid_eleven_per_cent_faster_than_it_is() -> None:
    """Why ours is the other form (Prieto 1996, MVELO / (4√2·MDIST), from memory)."""
    t = np.arange(20_001) / 1_000.0
    x = np.sin(2.0 * np.pi * 0.5 * t)
    sway = measure_sway(Path(t, x, np.zeros(len(t)), "cm", 4.0, np.ones(1)), most_lost_share=0.0)
    assert isinstance(sway, Sway)
    prieto = sway.mean_speed / (4.0 * np.sqrt(2.0) * sway.mean_distance)
    assert prieto / 0.5 == pytest.approx(np.pi / (2.0 * np.sqrt(2.0)), rel=1e-3)
    assert sway.mean_frequency_hz == pytest.approx(0.5, rel=1e-3)
