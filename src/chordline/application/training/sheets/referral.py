"""A note to a licensed clinician: what was reported, what was stopped, and what is asked."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from chordline.application.club.records import NoteRecord
from chordline.application.tongue import Tongue, mark
from chordline.application.training.sheets.her import Her, flag_of, holds_on
from chordline.application.training.signs import barred_loads, tests_stopped_by
from chordline.application.training.words import LOADS
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.errors import RefusedInputError

#: A clinician does not read on beyond so many tests. Assumption.
_MOST_TESTS: Final = 4
#: What the clinician is asked, each with room for an answer.
_QUESTIONS: Final = (
    mark("May the child train? If not, until when?"),
    mark("Is there anything that the child should not do for now?"),
    mark("What may be built up again, and in which order?"),
    mark("Should the child be seen again, and when?"),
)
_CHOICES: Final = (
    mark("without limits"),
    mark("with the limits below"),
    mark("not for now"),
)


@dataclass(frozen=True)
class ReferralNote:
    """The note, in one language; it names one child and nothing is diagnosed in it.

    Attributes
    ----------
    facts : tuple of (str, str)
        Label and what stands beside it.
    reported : tuple of str
    stopped : tuple of str
    request : str
    questions, choices : tuple of str
    answer_lines : tuple of str
        What is written beside the lines for place, date and signature.
    """

    language: str
    title: str
    heading: str
    gymnast: str
    facts: tuple[tuple[str, str], ...]
    reported_heading: str
    reported: tuple[str, ...]
    stopped_heading: str
    stopped: tuple[str, ...]
    request_heading: str
    request: str
    answer_heading: str
    questions: tuple[str, ...]
    choices: tuple[str, ...]
    answer_lines: tuple[str, ...]
    small_print: tuple[str, ...]


def make_referral_note(
    her: Her,
    note: NoteRecord,
    *,
    others: Sequence[str],
    catalogue: Catalogue,
    training: TrainingCatalogue,
    tongue: Tongue,
) -> ReferralNote:
    """Return the note for an open sign.

    Parameters
    ----------
    her : Her
    note : NoteRecord
    others : sequence of str
        Names of the club's other children; a coach's words that name one are not printed.
    catalogue : Catalogue
    training : TrainingCatalogue
    tongue : Tongue

    Raises
    ------
    RefusedInputError
        For a note that is no sign, or that holds no more.
    """
    if note.kind == "remark":
        raise RefusedInputError("a remark is no sign; a referral note is for a reported sign")
    if not holds_on(note, her.day):
        raise RefusedInputError("this sign is closed; open it again to print a referral note")
    flag = flag_of(note)
    sign = catalogue.referrals[flag]
    label = tongue.word("sign", sign.label)
    return ReferralNote(
        language=tongue.code,
        title=tongue.say("Referral note: {gymnast}", gymnast=her.name),
        heading=tongue.say("To a licensed clinician"),
        gymnast=her.name,
        facts=_facts(her, tongue),
        reported_heading=tongue.say("What was reported"),
        reported=_reported(note, label, her=her, others=others, tongue=tongue),
        stopped_heading=tongue.say("What we stopped"),
        stopped=_stopped(flag, catalogue=catalogue, training=training, tongue=tongue),
        request_heading=tongue.say("What we ask"),
        request=tongue.say(
            "Please examine the child and tell us in writing what training is possible. "
            "We are coaches: we have not examined, treated or diagnosed anything."
        ),
        answer_heading=tongue.say("Answer"),
        questions=tuple(tongue.say(one) for one in _QUESTIONS),
        choices=tuple(tongue.say(one) for one in _CHOICES),
        answer_lines=tuple(
            tongue.say(one) for one in (mark("Place, date"), mark("Name, signature, stamp"))
        ),
        small_print=(
            tongue.say(
                "Handed to the family, who decide whom to see and what to give back to the club. "
                "The club keeps the answer with the child's records and shows it to the "
                "child's coaches only."
            ),
        ),
    )


def _facts(her: Her, tongue: Tongue) -> tuple[tuple[str, str], ...]:
    facts = [(tongue.say("Child"), her.name)]
    if her.birth_date is not None:
        facts.append((tongue.say("Born"), tongue.day(her.birth_date)))
    facts.append((tongue.say("Club"), her.club))
    facts.append((tongue.say("Sport"), tongue.say("artistic gymnastics, with handstands")))
    facts.append((tongue.say("Date"), tongue.day(her.day)))
    return tuple(facts)


def _reported(
    note: NoteRecord, label: str, *, her: Her, others: Sequence[str], tongue: Tongue
) -> tuple[str, ...]:
    said = [tongue.say("{day}: {sign}.", day=tongue.day(note.noted_on), sign=label)]
    words = note.text.strip()
    if not words:
        return tuple(said)
    if names_another(words, her.name, others):
        said.append(tongue.say("The coach's own words name another child and are left out here."))
    else:
        said.append(tongue.say("In the coach's words: “{words}”", words=words))
    return tuple(said)


def names_another(words: str, hers: str, others: Sequence[str]) -> bool:
    """Return whether words hold a part of another child's name that is not hers as well.

    A name is known by its capital, so that ‘may’ is no May; one too many is left out rather than
    one too few.
    """
    own = set(_parts(hers))
    spoken = set(_parts(words))
    return any(
        part in spoken
        for other in others
        for part in _parts(other)
        if part not in own and part[:1].isupper() and len(part) > 2
    )


def _parts(text: str) -> list[str]:
    # A genitive is a name as well: Zoë's, Annas.
    parts = re.findall(r"[^\W\d_]+", text)
    return parts + [part[:-1] for part in parts if part.endswith("s") and len(part) > 3]


def _stopped(
    flag: str, *, catalogue: Catalogue, training: TrainingCatalogue, tongue: Tongue
) -> tuple[str, ...]:
    stopped = tests_stopped_by((flag,), catalogue)
    tests = [tongue.word("test", catalogue.tests[name].title) for name in stopped]
    loads = [
        tongue.say(LOADS[load])
        for load in sorted(barred_loads((flag,), training), key=list(LOADS).index)
    ]
    said = []
    if loads:
        said.append(tongue.say("In training: {loads}.", loads=tongue.joined(loads)))
    if len(tests) == len(catalogue.tests):
        said.append(tongue.say("In our tests of the body line: all of them."))
    elif len(tests) > _MOST_TESTS:
        some = tongue.joined(tests[: _MOST_TESTS - 1])
        rest = tongue.number(len(tests) - _MOST_TESTS + 1)
        said.append(
            tongue.say(
                "In our tests of the body line: {some}; and {rest} more.", some=some, rest=rest
            )
        )
    elif tests:
        said.append(
            tongue.say("In our tests of the body line: {tests}.", tests=tongue.joined(tests))
        )
    said.append(tongue.say("This holds until we have your answer."))
    return tuple(said)


def sign_to_refer(notes: Sequence[NoteRecord], day: date) -> NoteRecord | None:
    """Return the latest sign that holds on a day; None where there is none."""
    open_ones = [one for one in notes if holds_on(one, day)]
    return max(open_ones, key=lambda one: (one.noted_on, one.id), default=None)
