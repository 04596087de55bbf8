import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import column
from sqlalchemy.dialects import sqlite

from chordline.adapters.db.paging import beyond, check_limit, read_cursor, write_cursor
from chordline.errors import WrongUseError


@given(st.text(max_size=30), st.integers(0, 2**53))
def test_a_place_in_a_list_comes_back_as_it_was(name: str, id: int):
    assert read_cursor(write_cursor("name-up", name, id), "name-up", str, int) == [name, id]


@given(st.text(max_size=60))
def test_no_text_from_outside_breaks_a_page(text: str):
    with pytest.raises(WrongUseError):
        read_cursor(text, "name-up", str, int)


def test_a_place_fits_only_its_own_order():
    place = write_cursor("name-up", "anna", 3)
    for order, types in (("name-down", (str, int)), ("name-up", (int, int)), ("name-up", (str,))):
        with pytest.raises(WrongUseError):
            read_cursor(place, order, *types)


@pytest.mark.parametrize("limit", [-1, 0, 501])
def test_a_page_has_a_size(limit: int):
    with pytest.raises(WrongUseError):
        check_limit(limit)


def test_equals_go_by_id_and_the_index_can_be_used():
    key, id_column = column("k"), column("id")
    condition = beyond(key, 5, id_column, 7, key_down=True, id_down=False)
    sql = str(condition.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True}))
    assert sql == "k <= 5 AND (k < 5 OR id > 7)"
