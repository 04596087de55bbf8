"""Keeps a spreadsheet from taking a name in a CSV file for a formula.

A cell that begins with one of ``= + - @``, their wide forms, a tab, a line feed or a carriage
return gets an apostrophe before it; a spreadsheet then shows it as text. Reading takes one
apostrophe away from a cell that begins with apostrophes and then such a sign. So each text comes
back as it was: one that has the apostrophe itself gets a second one. Other apostrophes stay.
"""

import re

_SIGNS = r"=+\-@＝＋－＠\t\r\n"
_RISKY = re.compile(rf"'*[{_SIGNS}]")
_GUARDED = re.compile(rf"'+[{_SIGNS}]")


def guard(text: str) -> str:
    """Return a cell as it is written.

    Examples
    --------
    >>> guard("=1+1"), guard("'t Anna")
    ("'=1+1", "'t Anna")
    """
    return f"'{text}" if _RISKY.match(text) else text


def unguard(cell: str) -> str:
    """Return the text that `guard` was given."""
    return cell[1:] if _GUARDED.match(cell) else cell
