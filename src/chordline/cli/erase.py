"""`chordline erase`: a gymnast with everything of hers, and the receipt."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.club.erase_her import what_is_lost_in_words
from chordline.bootstrap import build_app
from chordline.cli.console import complain, remark
from chordline.cli.pick import pick_gymnast
from chordline.cli.take_in import DataOption
from chordline.errors import RefusedInputError, WrongUseError


def erase(
    gymnast: Annotated[str, typer.Argument(metavar="GYMNAST", help="Card number or name.")],
    receipt: Annotated[
        Path | None,
        typer.Option("--receipt", metavar="FILE.pdf", help="Where the family's receipt goes."),
    ] = None,
    yes: Annotated[
        str | None,
        typer.Option("--yes", metavar="NAME", help="Her whole name, instead of being asked."),
    ] = None,
    data: DataOption = None,
) -> None:
    """Erase a gymnast with everything of hers, for good, and print the receipt for her family.

    'chordline export' first gives the family what is kept of her. Her name is asked for again.
    """
    app = build_app(data=data)
    try:
        with app.records.reading() as tx:
            her = pick_gymnast(tx, app.club().id, gymnast)
        typer.echo(f"What is lost of {her.name}:")
        for line in what_is_lost_in_words(app.keep_her().what_is_lost(her.id)):
            typer.echo(f"    {line}")
        said = yes if yes is not None else typer.prompt("Type her name to erase her")
        if " ".join(said.split()) != her.name:
            raise WrongUseError("that is not her name; nothing was erased")
        place = receipt or Path(receipt_name_of(her.id))
        try:
            # Before, so that nobody is erased without a receipt.
            place.touch(mode=0o600)
        except OSError as error:
            raise RefusedInputError(f"{place} cannot be written ({error.strerror})") from None
        done = app.erase_her()(her.id)
        if done is None:
            raise RefusedInputError("she was erased by somebody else meanwhile")
        for line in done.copies:
            complain(f"Still to be done: {line}")
        place.write_bytes(app.print_receipt(done))
    finally:
        app.records.close()
    remark(f"Erased. The receipt is in {place}; hand it to the family, then delete it.")


def receipt_name_of(number: int) -> str:
    """Return what a receipt is called where nobody says it; without her name."""
    return f"erased-{number}-{date.today().isoformat()}.pdf"
