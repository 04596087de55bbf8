"""A few hundred inputs of each part of `make faults`, always the same ones."""

import importlib

import pytest

from chordline.errors import MarksError
from faults.__main__ import print_table
from faults.attempt import attempt_all, played_again
from faults.parts import PARTS
from faults.row import Budget, Row

#: Part → share of its cases that takes some seconds.
SHARES = {
    "pictures": 0.04,
    "live_pictures": 0.1,
    "videos": 0.06,
    "tables": 0.05,
    "marks": 0.05,
    "folders": 0.1,
    "catalogues": 0.04,
}
SLOW = {"guided": 0.02, "names": 0.4, "interface": 0.02, "disk": 1.0}


def broken_promises(part, share, folder):
    row = importlib.import_module(f"faults.{part}").run(Budget(share, 1, folder))
    assert row.cases or row.notes
    return row.found, row.notes


@pytest.mark.filterwarnings("default")  # a warning of a decoder or a client is no finding
@pytest.mark.parametrize("part", SHARES)
def test_hostile_inputs_are_refused_with_a_sentence(part, tmp_path):
    found, notes = broken_promises(part, SHARES[part], tmp_path)
    assert found == 0, notes


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
@pytest.mark.parametrize("part", SLOW)
def test_the_site_and_the_readers_branches_hold(part, tmp_path):
    found, notes = broken_promises(part, SLOW[part], tmp_path)
    assert found == 0, notes


def test_each_fuzzed_part_has_its_short_form_here():
    known = {*SHARES, *SLOW}
    assert known <= set(PARTS)


def refuse(content):
    raise MarksError("a", ("no",))


def stumble(content):
    return content.index(b"x")


def test_a_reader_that_refuses_holds(tmp_path):
    row = attempt_all("mine", Budget(1.0, 1, tmp_path), [b"1", b"2"], refuse)
    assert (row.cases, row.found, row.verdict) == (2, 0, "holds")


def test_a_reader_that_stumbles_is_broken_and_the_input_can_be_played_again(tmp_path):
    row = attempt_all("mine", Budget(1.0, 1, tmp_path), [b"x", b"1", b"2"], stumble)
    assert (row.cases, row.found, row.verdict) == (3, 2, "BROKEN")
    assert played_again(tmp_path) == [b"1"]  # once for each place in the code


def test_the_table_names_what_broke(capsys):
    print_table([Row("mine", cases=3, found=1, worst_s=0.5, peak_mb=80.0, notes=["why"])])
    assert capsys.readouterr().out.splitlines() == [
        "part  cases  found  worst time  peak memory  verdict",
        "mine  3      1      0.50 s      80 MB        BROKEN ",
        "mine: why",
    ]
