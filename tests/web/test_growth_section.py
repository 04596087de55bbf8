"""Growth on a gymnast's page."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from club_pages import ClubSite, level_faults, open_club, words_of

from chordline.application.club.records import BodySize, GymnastRecord

TODAY = date.today()
YEARS_11 = TODAY - timedelta(days=4018)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def measure(site: ClubSite, her: GymnastRecord, *statures: float) -> None:
    """Statures 184 days apart, the last one of today."""
    with site.app.records.transaction() as tx:
        for i, stature in enumerate(reversed(statures)):
            tx.gymnasts.add_size(her.id, BodySize(TODAY - timedelta(days=184 * i), stature))


def section(site: ClubSite, her: GymnastRecord) -> str:
    page = site.page(f"/gymnasts/{her.id}")
    assert level_faults(page) == []
    return page.partition('<section class="growth"')[2].partition("</section>")[0]


def test_words_stand_before_figures_and_the_drawing_is_told_too(site: ClubSite) -> None:
    her = site.add("Ada", 7, birth_date=YEARS_11, growth_reference="girls")
    measure(site, her, 135.0, 137.5, 140.0)
    found = section(site, her)
    said = words_of(found)
    assert re.search(r"She grew about 5 cm a year\. 5\.0 ± 2\.8 cm/year", said)
    assert re.search(r"of 100 girls of that age about \d+ are shorter .* z −\d", said)
    assert "Test her again sooner" not in said
    assert "While she may be growing fast" not in said
    drawing = found.partition("<svg")[2].partition("</svg>")[0]
    assert drawing.count("<circle") == 3
    assert "137.5 cm at 10 years 5 months" in drawing
    assert f'href="/gymnasts/{her.id}/edit#taken_on"' in found


def test_fast_growth_shows_its_cautions(site: ClubSite) -> None:
    her = site.add("Ada", 7, birth_date=YEARS_11, growth_reference="girls")
    measure(site, her, 135.0, 140.5)
    said = words_of(section(site, her))
    assert "Test her again sooner." in said
    assert "Jackson 1976" in said
    assert "DiFiori 2002" in said
    assert said.count("licensed clinician") == 2


def test_maturity_never_stands_without_its_warning(site: ClubSite) -> None:
    her = site.add("Ada", 7, birth_date=YEARS_11, growth_reference="girls")
    measure(site, her, 140.0)
    said = words_of(section(site, her))
    assert said.index("her fastest growth") < said.index("many gymnasts mature late")


def test_weight_is_not_compared_and_size_is_not_judged(site: ClubSite) -> None:
    her = site.add("Ada", 7, birth_date=YEARS_11, growth_reference="girls")
    with site.app.records.transaction() as tx:
        tx.gymnasts.add_size(her.id, BodySize(TODAY, 118.0, 60.0, 62.0))
    said = words_of(section(site, her))
    assert "Small or tall is no fault" in said
    for word in ("BMI", "weight", "kg", "too small", "heavy", "overweight"):
        assert word not in said


def test_without_sizes_or_a_reference_the_section_says_what_to_do(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    assert "Her birth date is not known; enter it in her record." in words_of(section(site, her))
    bea = site.add("Bea", 8, birth_date=YEARS_11)
    assert "No stature is measured yet" in words_of(section(site, bea))
    measure(site, bea, 137.0, 140.0)
    found = section(site, bea)
    assert "choose girls or boys in her record" in words_of(found)
    assert "median" not in found
    assert found.count("<circle") == 2


def test_statures_that_contradict_each_other_are_told_first(site: ClubSite) -> None:
    her = site.add("Ada", 7, birth_date=YEARS_11, growth_reference="girls")
    measure(site, her, 140.0, 136.0)
    said = words_of(section(site, her))
    assert "4.0 cm less" in said
    assert said.index("4.0 cm less") < said.index("136 cm on")
    # The wrong one is corrected under its own day.
    with site.app.records.reading() as tx:
        version = tx.gymnasts.get(her.id).version
    answer = site.post(
        f"/gymnasts/{her.id}/edit",
        version=version,
        name="Ada",
        birth_date=YEARS_11.isoformat(),
        growth_reference="girls",
        taken_on=TODAY.isoformat(),
        stature_cm="142,5",
    )
    assert answer.status_code == 303
    corrected = words_of(section(site, her))
    assert "less than" not in corrected
    assert "She grew about 5 cm a year." in corrected


def test_the_reference_is_chosen_in_the_form_and_kept(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    form = site.page(f"/gymnasts/{her.id}/edit")
    assert '<option value="">not said</option>' in form
    fields = {"version": her.version, "name": "Ada", "card": "7"}
    answer = site.post(f"/gymnasts/{her.id}/edit", **fields, growth_reference="girls")
    assert answer.status_code == 303
    assert "compared with girls" in words_of(site.page(f"/gymnasts/{her.id}"))
    assert '<option value="girls" selected>' in site.page(f"/gymnasts/{her.id}/edit")
    told = site.client.get(f"/api/gymnasts/{her.id}").json()
    assert told["growth_reference"] == "girls"
    late = site.post(f"/gymnasts/{her.id}/edit", **fields, growth_reference="boys")
    assert late.status_code == 409
    assert "Growth is compared with girls boys" in words_of(late.text)


def test_a_reference_that_there_is_not_is_refused(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    answer = site.post(
        f"/gymnasts/{her.id}/edit", version=her.version, name="Ada", growth_reference="cats"
    )
    assert answer.status_code == 422
    assert "choose girls or boys" in answer.text
    address = f"/api/gymnasts/{her.id}"
    wrong = {"version": her.version, "growth_reference": "cats"}
    assert site.client.patch(address, json=wrong).status_code == 422
    right = {"version": her.version, "growth_reference": "boys"}
    assert site.client.patch(address, json=right).json()["growth_reference"] == "boys"
