import pytest

from chordline.adapters.db.search_keys import name_key, search_patterns


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Zoë  Ångström-Lindqvist", " zoe angstrom lindqvist"),
        ("Straße", " strasse"),
        ("O'Brien, Mia", " o brien mia"),
        ("Анна", " анна"),
        (" \t", ""),
        ("100%_", " 100"),
    ],
)
def test_a_name_is_searched_without_case_accents_and_signs(name: str, key: str):
    assert name_key(name) == key


def test_composed_and_decomposed_letters_are_one_name():
    assert name_key("Zoe\u0308") == name_key("Zo\u00eb")


def test_every_word_of_a_search_begins_a_word_of_the_name():
    assert search_patterns("ang  ZOË") == ("% ang%", "% zoe%")
    assert search_patterns("%_\\") == ()
