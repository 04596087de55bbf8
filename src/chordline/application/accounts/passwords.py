"""Which passwords are taken.

Length is what counts, and no rule asks for digits or signs: NIST SP 800-63B-4 (2025), 3.1.1.2,
which wants 8 characters at least, and 15 where a password is all there is. We ask for 12
(assumption: between the two, since guesses over the network are slowed down and kept passwords cost
64 MiB a guess), advise longer ones, and refuse the commonest and what anybody would try first.
"""

import unicodedata
from itertools import pairwise

from chordline.errors import RefusedInputError

FEWEST_LETTERS = 12
#: So that nobody keeps the server busy with one password (NIST asks for 64 at least).
MOST_LETTERS = 200

#: Beginnings that are among the commonest in every published list, so long as they are the most of
#: a password (common practice; NIST asks for such a list and names none).
_COMMON = (
    "password", "passwort", "motdepasse", "contraseña", "qwerty", "qwertz", "azerty", "asdfgh",
    "iloveyou", "letmein", "welcome", "administrator", "football", "baseball", "superman",
    "princess", "sunshine", "whatever", "trustno1", "abc123", "changeme", "gymnastics", "handstand",
    "chordline", "coachcoach", "1q2w3e4r", "zxcvbn", "monkey", "dragon", "master", "shadow",
)  # fmt: skip


def as_typed(text: str) -> str:
    """Return a password as every keyboard means it (NFKC, as NIST advises)."""
    return unicodedata.normalize("NFKC", text)


def check_password(text: str, *, name: str) -> str:
    """Return a password that may be kept.

    Raises
    ------
    RefusedInputError
        With what would be taken.
    """
    password = as_typed(text)
    if len(password) < FEWEST_LETTERS:
        raise RefusedInputError(
            f"a password needs {FEWEST_LETTERS} letters at least; four words that do not belong "
            "together are easy to keep in mind"
        )
    if len(password) > MOST_LETTERS:
        raise RefusedInputError(f"a password has {MOST_LETTERS} letters at most")
    if _is_easy(password.casefold(), name.casefold()):
        raise RefusedInputError(
            "this password is one of those that are tried first; take four words that do not "
            "belong together"
        )
    return password


def _is_easy(password: str, name: str) -> bool:
    if len(set(password)) < 5 or _runs_on(password):
        return True
    rest = password
    for word in (*_COMMON, *(part for part in name.split() if len(part) > 2)):
        rest = rest.replace(word, "")
    letters = "".join(one for one in rest if one.isalpha())
    return rest != password and len(letters) < 5


def _runs_on(password: str) -> bool:
    """Return whether most letters only follow one another, as in 123456 or abcdef."""
    steps = [ord(after) - ord(before) for before, after in pairwise(password)]
    return sum(step in (-1, 0, 1) for step in steps) > 0.7 * len(steps)
