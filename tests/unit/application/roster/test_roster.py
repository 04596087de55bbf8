from dataclasses import replace
from datetime import date

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.records import BodySize, Consent, NewGymnast
from chordline.application.roster.columns import COLUMNS
from chordline.application.roster.in_and_out import ExportRoster, ImportRoster, fault_words
from chordline.application.roster.preview import FieldChange
from chordline.application.roster.table import RosterRow, RosterTable
from chordline.errors import RefusedInputError
from club_stories import MONDAY, TUESDAY, found_club, new_photo
from roster_stories import TODAY, bring_in, effects, everything, faults, preview, put

FEBRUARY = date(2014, 2, 28)
MARCH = date(2014, 3, 28)


def test_a_new_gymnast_comes_in_with_all_that_her_row_says(records: SqlRecords):
    club, _ = found_club(records)
    outcome = bring_in(
        records,
        club.id,
        ",".join(COLUMNS),
        '7,Zoë Muster,2014-02-28,girls,"141,5",34,73,2025-09-01,Level 3 | Mon,yes,no,,2026-06-30',
    )
    assert effects(outcome.preview) == ["new"]
    assert outcome.preview.new_groups == ("Level 3", "Mon")
    with records.reading() as tx:
        zoe = tx.gymnasts.with_card(club.id, 7)
        assert zoe is not None
        view = tx.gymnasts.view(zoe.id)
    assert (zoe.name, zoe.birth_date) == ("Zoë Muster", FEBRUARY)
    assert zoe.growth_reference == "girls"
    assert zoe.consent == Consent(measure=True, until=date(2026, 6, 30), said_on=TODAY)
    assert view.sizes == (BodySize(MONDAY, 141.5, 34.0, 73.0),)
    assert [group.name for group in view.groups] == ["Level 3", "Mon"]


def test_importing_the_same_file_again_changes_nothing(records: SqlRecords):
    club, _ = found_club(records)
    lines = (
        "card,name,dob,height cm,group,consent_measure",
        "7,Zoë,2014-02-28,141.5,A,yes",
        ",Bea,,,A,",
    )
    bring_in(records, club.id, *lines)
    before = everything(records, club.id)
    with records.reading() as tx:
        version = tx.gymnasts.named(club.id, "Zoë")[0].version
    assert effects(bring_in(records, club.id, *lines).preview) == ["same", "same"]
    assert everything(records, club.id) == before
    with records.reading() as tx:
        assert tx.gymnasts.named(club.id, "Zoë")[0].version == version


def test_sizes_without_a_day_are_of_the_day_that_the_coach_says(records: SqlRecords):
    club, _ = found_club(records)
    found = RosterTable(("name", "mass_kg"), (RosterRow(2, {"name": "Anna", "mass_kg": "34"}),))
    ImportRoster(records)(
        club.id, found, skip_bad=False, token=None, today=TODAY, author="Kim", measured_on=TUESDAY
    )
    bring_in(records, club.id, "name,mass_kg", "Anna,35")
    with records.reading() as tx:
        sizes = tx.gymnasts.view(tx.gymnasts.named(club.id, "Anna")[0].id).sizes
    assert sizes == (BodySize(TUESDAY, mass_kg=34.0), BodySize(TODAY, mass_kg=35.0))


def test_one_bad_row_refuses_the_whole_file_and_its_form_can_be_sent_again(records: SqlRecords):
    club, _ = found_club(records)
    lines = ("name,card,group", "Anna,1,A", "Bea,x,B")
    with pytest.raises(RefusedInputError, match="line 3: card: 'x' is no card number"):
        bring_in(records, club.id, *lines, token="form")
    assert everything(records, club.id) == []
    outcome = bring_in(records, club.id, *lines, token="form", skip_bad=True)
    assert not outcome.already_done
    assert [line.line for line in outcome.left_out] == [3]
    assert [row["name"] for row in everything(records, club.id)] == ["Anna"]
    with records.reading() as tx:
        assert [group.name for group in tx.clubs.groups(club.id)] == ["A"]


def test_a_fault_of_the_records_keeps_nothing_of_the_file(records: SqlRecords):
    club, _ = found_club(records)
    with pytest.raises(RefusedInputError), records.transaction() as tx:
        tx.clubs.add_group(club.id, "")
    before = everything(records, club.id)
    found = RosterTable(("name", "group"), (RosterRow(2, {"name": "A", "group": "g"}),))
    importing = ImportRoster(records)
    with pytest.raises(RefusedInputError):
        importing(999, found, skip_bad=True, token=None, today=TODAY, author="Kim")
    assert everything(records, club.id) == before


def test_a_form_sent_twice_imports_once(records: SqlRecords):
    club, _ = found_club(records)
    assert not bring_in(records, club.id, "name,mass_kg", "Anna,34", token="t").already_done
    outcome = bring_in(records, club.id, "name,mass_kg", "Anna,36", token="t")
    assert outcome.already_done
    assert [row["mass_kg"] for row in everything(records, club.id)] == [34.0]


def test_the_club_is_looked_at_anew_when_the_import_is_made(records: SqlRecords):
    club, _ = found_club(records)
    lines = ("name,card", "Anna,7")
    assert effects(preview(records, club.id, *lines)) == ["new"]
    with records.transaction() as tx:
        tx.gymnasts.add(club.id, NewGymnast("Bea", card=7))
    with pytest.raises(RefusedInputError, match="card 7 is Bea's"):
        bring_in(records, club.id, *lines)


def test_a_preview_changes_nothing(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    before = everything(records, club.id)
    assert preview(records, club.id, "name,card,group", "Anna,5,A", "Bea,6,B").new_groups
    assert everything(records, club.id) == before


def test_every_reason_in_every_row_is_told_in_the_order_of_the_file(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    found = preview(
        records,
        club.id,
        "name,card,dob,stature_cm,sitting_height_cm,consent_measure",
        ",x,2016-02-30,1.42,140,maybe",
        "Bea,0,2016-04-03,120,121,",
        "Cleo,5,,,,",
    )
    assert effects(found) == ["bad", "bad", "new"]
    assert [column for column, _ in found.lines[0].faults] == [
        "card",
        "name",
        "birth_date",
        "stature_cm",
        "sitting_height_cm",
        "consent_measure",
    ]
    assert "Anna's" in faults(found.lines[1], "card")
    assert "cannot sit as tall" in faults(found.lines[1], "sitting_height_cm")
    assert fault_words(found.lines[1]).count("; ") >= 1
    assert found.lines[0].values is None
    assert dict(found.counts) == {"new": 1, "changes": 0, "same": 0, "bad": 2}


def test_an_empty_cell_changes_nothing(records: SqlRecords):
    club, _ = found_club(records)
    consent = Consent(measure=True, keep_pictures=True, until=date(2026, 6, 30))
    put(records, club.id, NewGymnast("Anna", 1, FEBRUARY, consent))
    header = "name,card,born,mass_kg,measured_on,group,consent_measure,consent_until"
    bring_in(records, club.id, header, "Anna,,,34,2025-09-01,A,,")
    before = everything(records, club.id)
    assert effects(bring_in(records, club.id, header, "Anna,,,,,,,").preview) == ["same"]
    assert everything(records, club.id) == before


def test_what_a_row_does_not_say_stays_when_something_else_changes(records: SqlRecords):
    club, _ = found_club(records)
    consent = Consent(measure=True, keep_pictures=True, until=date(2026, 6, 30))
    put(records, club.id, NewGymnast("Anna", 1, FEBRUARY, consent))
    bring_in(records, club.id, "name,show to squad", "Anna,yes")
    with records.reading() as tx:
        anna = tx.gymnasts.with_card(club.id, 1)
    assert anna is not None
    assert (anna.birth_date, anna.consent) == (
        FEBRUARY,
        replace(consent, show_to_squad=True, said_on=TODAY),
    )
    bring_in(records, club.id, "name,mass_kg", "Anna,34")
    with records.reading() as tx:
        assert tx.gymnasts.get(anna.id).version == anna.version


def test_she_stays_in_her_groups_when_the_file_names_others(records: SqlRecords):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        tx.clubs.put_in_group(tx.clubs.add_group(club.id, "Level 3").id, [anna.id])
    outcome = bring_in(records, club.id, "name,group", "Anna,LEVEL 3; Mon")
    assert outcome.preview.lines[0].changes == (FieldChange("group", "Level 3", "Level 3 | Mon"),)
    assert outcome.preview.new_groups == ("Mon",)
    assert everything(records, club.id)[0]["group"] == "Level 3 | Mon"


def test_a_group_needs_a_name(records: SqlRecords):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,group", "Anna,A|--", f"Bea,{'g' * 101}")
    assert "has no letter" in faults(found.lines[0], "group")
    assert "too many" in faults(found.lines[1], "group")


def test_consent_taken_back_for_pictures_is_told(records: SqlRecords):
    club, _ = found_club(records)
    anna, _bea, _cleo = put(
        records,
        club.id,
        NewGymnast("Anna", consent=Consent(keep_pictures=True)),
        NewGymnast("Bea", consent=Consent(keep_pictures=True)),
        NewGymnast("Cleo"),
    )
    lines = ("name,keep pictures,may measure", "Anna,no,", "Bea,,yes", "Cleo,no,yes")
    outcome = bring_in(records, club.id, *lines)
    assert outcome.pictures_withdrawn == (anna,)
    assert outcome.preview.lines[0].changes == (FieldChange("consent_keep_pictures", "yes", "no"),)


@pytest.mark.parametrize(
    ("header", "good", "bad"),
    [
        ("height", "141", "1.42"),
        ("height", "141", "55"),
        ("sitting height", "73", "29"),
        ("weight", "34", "4"),
    ],
)
def test_a_size_without_a_unit_is_believed_only_where_all_can_be_ours(
    records: SqlRecords, header: str, good: str, bad: str
):
    club, _ = found_club(records)
    lines = (f"name,{header}", f"Anna,{good}", "Bea,", f"Cleo,{bad}")
    assert effects(preview(records, club.id, *lines[:-1])) == ["new", "new"]
    found = preview(records, club.id, *lines)
    assert effects(found) == ["bad", "new", "bad"]
    assert f"'{bad}' on line 4" in fault_words(found.lines[0])


def test_pounds_are_told_by_the_height_beside_them(records: SqlRecords):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,height,weight", "Anna,141,75")
    assert "call it mass_kg and write kg" in faults(found.lines[0], "mass_kg")
    assert faults(found.lines[0], "stature_cm") == ""
    assert effects(preview(records, club.id, "name,height,mass_kg", "Anna,141,75")) == ["new"]


def test_another_unit_is_refused(records: SqlRecords):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,height (in),weight_lb", "Anna,55,75", "Bea,,")
    assert effects(found) == ["bad", "new"]
    assert "is not in cm; call it stature_cm" in faults(found.lines[0], "stature_cm")
    assert "is not in kg; call it mass_kg" in faults(found.lines[0], "mass_kg")


def test_what_the_records_hold_already_is_not_questioned(records: SqlRecords):
    club, _ = found_club(records)
    coach = NewGymnast("C" * 150, 1, date(1980, 1, 1))
    put(records, club.id, replace(coach), NewGymnast("An\u200bna", 2))
    before = everything(records, club.id)
    lines = ("name,card,born", f"{'C' * 150},1,1980-01-01", "An\u200bna,2,")
    assert effects(bring_in(records, club.id, *lines).preview) == ["same", "same"]
    assert everything(records, club.id) == before
    found = preview(records, club.id, lines[0], f"{'C' * 151},,1980-01-02")
    assert {column for column, _ in found.lines[0].faults} == {"name", "birth_date"}


def test_a_row_with_a_wrong_number_of_cells_has_this_one_fault(records: SqlRecords):
    club, _ = found_club(records)
    found = preview(records, club.id, "name,stature_cm,mass_kg", "Anna,141,5,34", "Bea,141")
    assert [len(line.faults) for line in found.lines] == [1, 1]
    assert "has 4 cells" in faults(found.lines[0], "")
    assert "has 2 cells" in faults(found.lines[1], "")


def test_what_a_file_has_wrong_in_a_column_that_is_not_read_does_not_matter(records: SqlRecords):
    club, _ = found_club(records)
    row = RosterRow(2, {"Name": "Anna", "note": "", "dob": ""}, (("note", "?"), ("dob", "!")))
    found = RosterTable(("Name", "note", "dob"), (row,))
    outcome = ImportRoster(records)(
        club.id, found, skip_bad=True, token=None, today=TODAY, author="Kim"
    )
    assert outcome.left_out[0].faults == (("birth_date", "!"),)


def test_an_export_holds_those_who_train_with_their_latest_sizes(records: SqlRecords):
    club, (anna, bea, gone) = found_club(records, "Anna", "Bea", "Gone")
    with records.transaction() as tx:
        tx.gymnasts.archive(gone.id)
        tx.clubs.put_in_group(tx.clubs.add_group(club.id, "A; B").id, [bea.id])
        tx.gymnasts.add_size(anna.id, BodySize(TUESDAY, stature_cm=141.0))
        tx.gymnasts.add_size(anna.id, BodySize(MONDAY, stature_cm=140.0, mass_kg=34.0))
        group = tx.clubs.groups(club.id)[0]
    first, second = ExportRoster(records)(club.id)
    assert tuple(first) == COLUMNS
    assert (first["name"], first["stature_cm"], first["mass_kg"], first["measured_on"]) == (
        "Anna",
        141.0,
        None,
        TUESDAY,
    )
    assert (second["group"], second["measured_on"]) == (r"A\; B", None)
    assert [row["name"] for row in ExportRoster(records)(club.id, group.id)] == ["Bea"]


def test_photos_that_waited_for_a_card_of_the_list_are_looked_at_again(records: SqlRecords):
    club, _ = found_club(records)
    with records.transaction() as tx:
        tx.photos.file(club.id, new_photo("7.jpg"))
    bring_in(records, club.id, "card,name", "7,Zoë Muster")
    with records.reading() as tx:
        assert tx.jobs.counts(club.id)["waiting"] == 1
