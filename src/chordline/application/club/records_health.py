"""The club's records and pictures as `chordline doctor` and the settings page tell of them."""

from collections import Counter
from collections.abc import Sequence
from datetime import date

from chordline.application.club.consent import ConsentRules
from chordline.application.club.ports import Records
from chordline.application.club.vault_ports import Vault, VaultState
from chordline.application.club.views import GymnastQuery
from chordline.application.club.whom_to_ask import ToAsk, Why, whom_to_ask
from chordline.application.health import Finding

#: Less room than this on the disk, and the next session's photos may not fit [bytes].
_LITTLE_ROOM = 2_000_000_000


def examine_records(
    records: Records,
    club_id: int,
    *,
    place: str,
    free_bytes: int,
    today: date,
    rules: ConsentRules,
) -> tuple[Finding, ...]:
    """Return what there is to say of the records.

    Parameters
    ----------
    records : Records
    club_id : int
    place : str
        Where they are, in words.
    free_bytes : int
        Room on the disk that holds the pictures.
    today : date
    rules : ConsentRules
    """
    with records.reading() as tx:
        total = tx.gymnasts.page(GymnastQuery(club_id, limit=1)).total
        counts = tx.photos.counts(club_id)
        failed = tx.jobs.counts(club_id)["failed"]
        ask = whom_to_ask(tx, club_id, today, rules)
        videos = tx.videos.counts(club_id)
    told = f"{total} {'gymnast' if total == 1 else 'gymnasts'}, in {place}"
    looks = counts.needs_look + counts.refused
    waits = f"{counts.waiting} photos wait for measuring, {looks} for a look"
    findings = [Finding("records", "well", told), Finding("photos", "well", waits)]
    wait = (videos.arrived, videos.waiting, videos.needs_look + videos.refused)
    if any(wait):
        told_of = "{} wait to be asked for, {} for measuring, {} for a look"
        findings.append(Finding("videos", "well", told_of.format(*wait)))
    if failed:
        findings.append(
            Finding(
                "measuring",
                "limited",
                f"{failed} photos or videos made chordline itself fail; set the marks by hand",
            )
        )
    findings.append(_tell_consents(ask, total))
    room = f"{free_bytes / 1e9:.1f} GB free"
    if free_bytes < _LITTLE_ROOM:
        findings.append(Finding("disk", "limited", f"{room}; make room before the next session"))
    else:
        findings.append(Finding("disk", "well", room))
    return tuple(findings)


_LOCK_WORDS: dict[VaultState, str] = {
    "by_file": "encrypted, but the key lies beside them: set a passphrase in the settings or with "
    "'chordline vault passphrase'",
    "locked": "encrypted and locked; unlock them in the browser or with CHORDLINE_PASSPHRASE",
    "open": "encrypted; the passphrase was given",
}


def examine_vault(records: Records, club_id: int, vault: Vault) -> tuple[Finding, ...]:
    """Return what there is to say of the pictures' encryption."""
    state = vault.state
    told = [_LOCK_WORDS[state]]
    with records.reading() as tx:
        to_seal = tx.keys.count_misplaced(club_id)
    if to_seal:
        told.append(f"{to_seal} are not under their gymnast's key yet ('chordline vault seal')")
    if state != "by_file" and vault.sheet_printed_on is None:
        told.append("no recovery sheet was printed: without it a forgotten passphrase is the end")
    well = state == "open" and len(told) == 1
    return (Finding("pictures", "well" if well else "limited", "; ".join(told)),)


def _tell_consents(ask: Sequence[ToAsk], total: int) -> Finding:
    """Return what families said, as a whole: names stand on the pages, not here."""
    if not ask:
        told = "every family said what it allows" if total else "nobody is there yet"
        return Finding("consent", "well", told)
    counts = Counter(one.why for one in ask)
    words: dict[Why, str] = {
        "ended": "have run out, and pictures go",
        "ends_soon": "end soon",
        "not_asked": "were not asked for yet",
    }
    told = ", ".join(f"{counts[why]} {words[why]}" for why in words if counts[why])
    return Finding("consent", "limited", f"{told}; 'chordline consent list' names them")
