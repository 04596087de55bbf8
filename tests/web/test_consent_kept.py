"""What families said is kept to: on pages, in the daily work, on sheets, in what is handed out."""

import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from club_pages import ClubSite, open_club, words_of
from PIL import Image
from PIL.ExifTags import GPS, IFD

from chordline.application.club.consent import NOT_ALLOWED
from chordline.application.club.records import BodySize, Consent, GymnastRecord
from chordline.application.club.take_in import Incoming
from chordline.core.body.measurement import Trust

TODAY = date.today()
ALL = Consent(measure=True, keep_pictures=True, show_to_squad=True, said_on=TODAY)
#: Must be in nothing that leaves.
SECRET = b"Kept-Secret-Street-17"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClubSite]:
    with open_club(tmp_path_factory.mktemp("consent")) as club:
        yield club


def told(shade: int) -> bytes:
    """A photo that tells who took it, where, and with what."""
    rng = np.random.default_rng(shade)
    image = Image.fromarray(rng.integers(0, 256, (900, 1200, 3), dtype=np.uint8))
    exif = Image.Exif()
    exif[0x010E] = SECRET.decode()
    exif[0x013B] = SECRET.decode()
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSProcessingMethod] = SECRET
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSLatitude] = (46.0, 57.0, 1.0)
    exif.get_ifd(IFD.Exif)[0x927C] = SECRET * 3
    out = io.BytesIO()
    image.save(
        out, "JPEG", quality=60, exif=exif, icc_profile=SECRET, comment=SECRET,
        xmp=b"<x:xmpmeta>" + SECRET + b"</x:xmpmeta>",
    )  # fmt: skip
    return out.getvalue()


def take_in(site: ClubSite, her: GymnastRecord, shade: int, test: str = "prone-sides") -> int:
    incoming = Incoming(f"IMG_{shade}.jpg", told(shade), TODAY, gymnast_id=her.id, test=test)
    return site.app.take_in_photo()(her.club_id, incoming, today=TODAY).photo.id


def say(site: ClubSite, her: GymnastRecord, consent: Consent) -> GymnastRecord:
    with site.app.records.transaction() as tx:
        return tx.gymnasts.update(replace(tx.gymnasts.get(her.id), consent=consent))


def test_without_leave_a_photo_is_not_measured_and_says_what_to_do(site: ClubSite) -> None:
    her = site.add("Ada No", consent=Consent(said_on=TODAY))
    photo_id = take_in(site, her, 1)
    after = site.app.measure_stored(photo_id)
    assert after.state == "refused"
    assert (after.reason or "").startswith(NOT_ALLOWED)
    assert "Ask the family" in words_of(site.page(f"/photos/{photo_id}"))
    assert "does not allow measuring" in words_of(site.page("/look"))
    # Once the family allows it, it is measured: the record page queues it.
    version = say(site, her, Consent(said_on=TODAY)).version
    form = {"version": version, "name": her.name, "measure": "yes", "keep_pictures": "yes"}
    assert site.post(f"/gymnasts/{her.id}/edit", **form, said_by="her mother").status_code == 303
    assert "Said by her mother on" in words_of(site.page(f"/gymnasts/{her.id}"))
    with site.app.records.transaction() as tx:
        job = tx.jobs.take("test", lease=timedelta(minutes=1))
    assert job is not None
    assert job.photo_id == photo_id
    again = site.app.measure_stored(photo_id)
    assert not (again.reason or "").startswith(NOT_ALLOWED)


def test_a_picture_that_may_not_be_kept_goes_and_its_measures_stay(site: ClubSite) -> None:
    her = site.add("Bea Measured", consent=replace(ALL, keep_pictures=False))
    screen = site.screen(her, {"prone-sides": {"hip": 0.0}}, day=TODAY, kept=True)
    apply, club = site.app.apply_consent(), her.club_id
    assert "will be deleted on" in words_of(site.page(f"/gymnasts/{her.id}"))
    assert not [one for one in apply.due(club, TODAY) if one.gymnast.id == her.id]
    later = TODAY + timedelta(days=7)
    (due,) = [one for one in apply.due(club, later) if one.gymnast.id == her.id]
    assert due.what == "picture"
    with site.app.records.reading() as tx:
        (view,) = tx.screens.view(screen).photos
    key = view.photo.content_key
    assert key is not None
    assert site.app.photo_store.has(key)
    assert her.name not in " ".join(apply(club, later).words())
    assert not site.app.photo_store.has(key)
    with site.app.records.reading() as tx:
        (after,) = tx.screens.view(screen).photos
    assert after.photo.content_key is None
    assert after.measurement == view.measurement
    assert not [one for one in apply(club, later).dropped if one.gymnast.id == her.id]
    assert site.client.get(f"/photos/{view.photo.id}").status_code == 200


def test_a_kill_between_file_and_row_is_finished_by_the_next_run(site: ClubSite) -> None:
    her = site.add("Cleo Killed", consent=replace(ALL, keep_pictures=False))
    screen = site.screen(her, {"prone-sides": {"hip": 0.0}}, day=TODAY, kept=True)
    with site.app.records.reading() as tx:
        (view,) = tx.screens.view(screen).photos
    assert view.photo.content_key is not None
    site.app.photo_store.delete(view.photo.content_key)
    site.app.apply_consent()(her.club_id, TODAY + timedelta(days=8))
    with site.app.records.reading() as tx:
        assert tx.photos.get(view.photo.id).content_key is None


def test_what_was_never_measured_goes_wholly(site: ClubSite) -> None:
    her = site.add("Dora No", consent=Consent(said_on=TODAY))
    photo_id = take_in(site, her, 2)
    site.app.measure_stored(photo_id)
    apply = site.app.apply_consent()
    assert not [one for one in apply.due(her.club_id, TODAY) if one.id == photo_id]
    done = apply(her.club_id, TODAY + timedelta(days=14))
    assert [one.what for one in done.dropped if one.id == photo_id] == ["photo"]
    assert site.client.get(f"/photos/{photo_id}").status_code == 404


def test_who_is_to_be_asked_stands_on_today_and_in_the_doctor(site: ClubSite) -> None:
    site.add("Eva Ends", consent=replace(ALL, until=TODAY + timedelta(days=3)))
    site.add("Fay Silent")
    page = words_of(site.page("/"))
    assert "Families to ask" in page
    assert "Eva Ends runs out on" in page
    assert "not asked yet" in page
    (finding,) = [one for one in site.app.examine() if one.what == "consent"]
    assert finding.state == "limited"
    assert "end soon" in finding.told


def test_a_sheet_for_others_shows_her_line_alone_unless_she_may_be_shown(site: ClubSite) -> None:
    her = site.add("Gia Hidden", consent=replace(ALL, show_to_squad=False))
    for day in (TODAY - timedelta(days=60), TODAY):
        site.screen(her, {"prone-sides": {"hip": 0.0}}, day=day, kept=True)
    content = site.app.gather_progress()(her.id, day=TODAY)
    assert content.pair is not None
    assert [one.jpeg for one in content.pair] == [None, None]
    say(site, her, ALL)
    shown = site.app.gather_progress()(her.id, day=TODAY)
    assert shown.pair is not None
    assert all(one.jpeg and one.faces == "hidden" for one in shown.pair)


@pytest.fixture(scope="module")
def ida(site: ClubSite) -> GymnastRecord:
    """Somebody with everything, whose photo tells where it was taken."""
    her = site.add("Ida Whole", 77, birth_date=date(2015, 5, 5), consent=ALL)
    site.screen(her, {"prone-overhead": {"shoulder": -20.0}}, day=TODAY, kept=True)
    photo_id = take_in(site, her, 3)
    with site.app.records.transaction() as tx:
        tx.gymnasts.add_size(her.id, BodySize(TODAY, stature_cm=131.0))
        tx.gymnasts.add_note(
            her.id, noted_on=TODAY, kind="remark", text="=HYPERLINK()", author="Cleo"
        )
        view = tx.screens.view(tx.screens.on(her.id, TODAY).id)
        other = next(one for one in view.photos if one.measurement is not None)
        tx.photos.save_measurement(
            photo_id,
            {**other.measurement.record, "photo": "IMG_3.jpg", "test": "prone-sides"},
            revision=tx.photos.get(photo_id).revision,
            marks_version=None,
            catalogue=site.app.catalogue.version,
        )
    site.app.judge_screen(view.screen.id)
    return her


def test_nothing_that_leaves_tells_where_or_with_what_a_photo_was_taken(
    site: ClubSite, ida: GymnastRecord
) -> None:
    with site.app.records.reading() as tx:
        screen = tx.gymnasts.view(ida.id).screens[0]
        stored = next(one.photo for one in screen.photos if one.photo.name == "IMG_3.jpg")
        kept = site.app.photo_store.open(stored.content_key or "")
    # The file in the vault is as it came in: encrypted, and said so in the papers.
    assert SECRET in kept
    addresses = [
        f"/photos/{stored.id}/picture",
        f"/photos/{stored.id}",
        f"/gymnasts/{ida.id}",
        f"/screens/{screen.screen.id}",
        f"/screens/{screen.screen.id}/sheet.html?faces=shown",
        f"/screens/{screen.screen.id}/sheet.html",
        f"/screens/{screen.screen.id}/sheet.pdf?faces=shown",
        f"/gymnasts/{ida.id}/family.pdf",
        f"/gymnasts/{ida.id}/progress.pdf",
        f"/api/photos/{stored.id}",
        "/squad/sheet.pdf",
    ]
    for address in addresses:
        answer = site.client.get(address)
        assert answer.status_code == 200, address
        assert SECRET not in answer.content, address
        assert b"Exif\0\0" not in answer.content, address
        # A PDF tells of itself in the same words.
        assert address.split("?")[0].endswith(".pdf") or b"ns.adobe.com/xap" not in answer.content
    picture = Image.open(io.BytesIO(site.client.get(addresses[0]).content))
    assert not picture.getexif()
    assert "icc_profile" not in picture.info


def test_an_export_holds_every_row_and_every_picture(site: ClubSite, ida: GymnastRecord) -> None:
    answer = site.client.get(f"/gymnasts/{ida.id}/export.zip")
    assert answer.status_code == 200
    assert ida.name not in answer.headers["content-disposition"]
    whole = zipfile.ZipFile(io.BytesIO(answer.content))
    assert whole.testzip() is None
    names = whole.namelist()
    assert len(names) == len(set(names))
    with site.app.records.reading() as tx:
        rows = tx.erased.rows_of(ida.id)
    inside = json.loads(whole.read("gymnast.json"))
    assert inside["gymnast"]["name"] == "Ida Whole"
    assert inside["gymnast"]["consent_said_on"] == TODAY.isoformat()
    tables = [name for name in names if name.startswith("tables/")]
    assert len(tables) == sum(map(bool, rows.values()))
    # The trail tells of the export too, afterwards.
    assert sum(len(one) for name, one in inside.items() if name not in {"gymnast", "trail"}) == sum(
        len(one) for name, one in rows.items() if name not in {"gymnast", "trail"}
    )
    notes = whole.read("tables/notes.csv").decode("utf-8-sig")
    assert "'=HYPERLINK()" in notes
    assert "131.0" in whole.read("tables/sizes.csv").decode()
    pictures = [name for name in names if name.startswith("pictures/")]
    assert len(pictures) == 2
    for name in pictures:
        content = whole.read(name)
        assert SECRET not in content
        assert Image.open(io.BytesIO(content)).size in ((1200, 900), (1600, 1200))
    assert {f"sheets/screen-{TODAY}.pdf", "sheets/family.pdf"} <= set(names)
    assert "missing.txt" not in names
    assert "Ida Whole" in whole.read("README.txt").decode()
    again = site.client.get(f"/gymnasts/{ida.id}/export.zip").content
    first, second = (
        {one.filename: one.CRC for one in zipfile.ZipFile(io.BytesIO(each)).infolist()}
        for each in (answer.content, again)
    )
    # The trail tells of the export itself; all else is the same.
    changes = {name for name in first if first[name] != second.get(name)}
    assert changes <= {"tables/trail.csv", "gymnast.json", "README.txt"}


def test_erasing_gives_a_receipt_and_keeps_a_number_without_a_name(site: ClubSite) -> None:
    her = site.add("Kim Gone", 88, consent=ALL)
    site.screen(her, {"prone-sides": {"hip": 0.0}}, day=TODAY, kept=True)
    asked = words_of(site.page(f"/gymnasts/{her.id}/erase"))
    assert "1 photo with all marks and measurements, 1 kept picture" in asked
    assert f"/gymnasts/{her.id}/export.zip" in site.page(f"/gymnasts/{her.id}/erase")
    assert "Erase for good" in site.post(f"/gymnasts/{her.id}/erase").text
    done = site.post(f"/gymnasts/{her.id}/erase", sure="yes", token="once")
    assert done.status_code == 200
    assert "Kim Gone is erased" in words_of(done.text)
    paper = done.text.split('href="/receipts/')[1].split('"')[0]
    receipt = site.client.get(f"/receipts/{paper}")
    assert receipt.content.startswith(b"%PDF")
    assert "Kim" not in receipt.headers["content-disposition"]
    assert site.client.get("/receipts/0123.pdf").status_code == 404
    with site.app.records.reading() as tx:
        (erased,) = [one for one in tx.erased.all() if one.gymnast_number == her.id]
    assert erased.by == "this machine"
    assert site.client.get(f"/gymnasts/{her.id}").status_code == 404
    # Sent twice it is done once, and says so without a page that fails.
    assert site.post(f"/gymnasts/{her.id}/erase", sure="yes", token="once").status_code == 404


def test_who_is_brought_back_by_an_older_backup_is_erased_again(site: ClubSite) -> None:
    her = site.add("Lea Back")
    with site.app.records.transaction() as tx:
        tx.erased.note(her.id, by="Cleo")
    assert site.app.erase_again()() == (her.id,)
    assert site.app.erase_again()() == ()
    with site.app.records.reading() as tx:
        assert {one.by for one in tx.erased.all() if one.gymnast_number == her.id} == {"Cleo"}


def test_a_doubtful_picture_is_left_off_a_sheet_and_it_says_why(site: ClubSite) -> None:
    her = site.add("Mia Doubt", consent=ALL)
    screen = site.screen(
        her, {"prone-sides": {"hip": 0.0}}, day=TODAY, kept=True,
        trust=Trust(False, ("Two people are close together.",)),
    )  # fmt: skip
    with site.app.records.transaction() as tx:
        (view,) = tx.screens.view(screen).photos
        assert view.measurement is not None
        record = json.loads(json.dumps(view.measurement.record))
        for mark in record["landmarks"].values():
            mark["origin"] = "auto"
        tx.photos.save_measurement(
            view.photo.id, record, revision=view.photo.revision, marks_version=None, catalogue="1"
        )
    hidden = site.page(f"/screens/{screen}/sheet.html")
    assert "data:image/jpeg" not in hidden
    assert "The picture is left out" in hidden
    assert "data:image/jpeg" in site.page(f"/screens/{screen}/sheet.html?faces=shown")


def test_a_guest_sees_a_picture_with_the_face_hidden(site: ClubSite, ida: GymnastRecord) -> None:
    with site.app.records.reading() as tx:
        views = tx.gymnasts.view(ida.id).screens[0].photos
    view = next(one for one in views if one.photo.name == "IMG_3.jpg")
    whole = site.client.get(f"/photos/{view.photo.id}/picture").content
    hidden = site.app.without_face(view.photo.id, whole)
    assert hidden is not None
    assert hidden != whole
    # What is coarse packs well.
    assert len(hidden) < 0.8 * len(whole)
