"""de Leva P (1996), J Biomech 29:1223-30, table 4.

Read in the tables of Duarte & Watanabe (BMClab/BMC, commit fa66686:
data/BSPfemale_ZdeLeva.txt and BSPmale_ZdeLeva.txt). Lengths of the segments are from memory; here
they are held against what the table prints for one segment with different ends.
"""

import pytest

from chordline.catalogue.segments import check_table, load_segments

SEGMENTS = load_segments()
TABLES = ("de-leva-1996-female", "de-leva-1996-male")
#: mass, centre, radii sagittal and transverse.
LINES = {
    "Head": ((0.0668, 0.5894, 0.330, 0.359), (0.0694, 0.5976, 0.362, 0.376)),
    "Trunk 3": ((0.4257, 0.3782, 0.379, 0.361), (0.4346, 0.4310, 0.384, 0.358)),
    "Upper arm": ((0.0255, 0.5754, 0.278, 0.260), (0.0271, 0.5772, 0.285, 0.269)),
    "Forearm": ((0.0138, 0.4559, 0.261, 0.257), (0.0162, 0.4574, 0.276, 0.265)),
    "Hand": ((0.0056, 0.7474, 0.531, 0.454), (0.0061, 0.7900, 0.628, 0.513)),
    "Thigh": ((0.1478, 0.3612, 0.369, 0.364), (0.1416, 0.4095, 0.329, 0.329)),
    "Shank 2": ((0.0481, 0.4416, 0.271, 0.267), (0.0433, 0.4459, 0.255, 0.249)),
    "Foot": ((0.0129, 0.4014, 0.299, 0.279), (0.0137, 0.4415, 0.257, 0.245)),
}


@pytest.mark.parametrize("segment", LINES)
@pytest.mark.parametrize("sex", [0, 1], ids=TABLES)
def test_the_table_holds_the_printed_lines(segment: str, sex: int) -> None:
    line = SEGMENTS.tables[TABLES[sex]].printed[segment]
    printed = (line.mass, line.cm_prox, line.rg_sagittal, line.rg_transverse)
    assert printed == LINES[segment][sex]


@pytest.mark.parametrize(("table", "total"), list(zip(TABLES, (0.9999, 1.0000), strict=True)))
def test_the_masses_make_the_sum_of_the_printed_ones(table: str, total: float) -> None:
    entry = SEGMENTS.tables[table]
    found = sum(count * entry.printed[name].mass for name, count in entry.whole.items())
    assert found == pytest.approx(total, abs=1e-9)


@pytest.mark.parametrize("table", TABLES)
def test_three_parts_of_the_trunk_weigh_what_the_trunk_weighs(table: str) -> None:
    line = SEGMENTS.tables[table].printed
    parts = sum(line[f"{name} trunk"].mass for name in ("Upper", "Middle", "Lower"))
    assert parts == pytest.approx(line["Trunk"].mass, abs=1e-9)


@pytest.mark.parametrize("table", TABLES)
def test_lengths_from_memory_agree_with_what_is_printed_for_other_ends(table: str) -> None:
    assert check_table(table, SEGMENTS.tables[table]) == []


@pytest.mark.parametrize("table", TABLES)
def test_a_wrong_length_is_found_by_what_is_printed_for_other_ends(table: str) -> None:
    entry = SEGMENTS.tables[table]
    wrong = entry.model_copy(update={"places": {**entry.places, "SUPR": entry.places["SUPR"] + 2}})
    assert any("same" in fault for fault in check_table(table, wrong))
