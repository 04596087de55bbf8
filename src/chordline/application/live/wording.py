"""Words of the live line. They describe the shape, and say what to do where it cannot be told."""

from chordline.application.findings_words import upper_first
from chordline.application.live.told import Reason
from chordline.catalogue.live import LiveWords
from chordline.catalogue.schema import MeasureEntry, TestEntry
from chordline.core.body.verdict import Verdict
from chordline.core.motion.live import Tone

_VERDICTS: dict[Tone, Verdict] = {
    "on": Verdict.ON_THE_LINE,
    "close": Verdict.CLOSE,
    "off": Verdict.SHORT,
    "unknown": Verdict.CANNOT_TELL,
}

_TO_DO: dict[Reason, str] = {
    "nobody": "She is not in the picture: her whole body, from the side.",
    "hidden": "She cannot be seen: somebody is in front of her, or she left the picture.",
    "two-people": "Two people are in position: one of them at a time.",
    "too-small": "She is small in the picture: bring the camera nearer.",
    "cut-off": "Hands or feet leave the picture: move the camera back, or her to the middle.",
    "which-side": "Which of her sides is near the camera? Press Left or Right.",
    "settling": "Hold still for a moment.",
}


def tell_reason(reason: Reason, test: TestEntry) -> str:
    """Return why the shape is not told, and what to do."""
    if reason == "not-in-position":
        posture = "upside down" if test.group == "hands" else "lying"
        return f"Nobody is in position yet: this test is {posture}."
    if reason == "turned-over":
        lies = "back" if test.front == "down" else "stomach"
        return (
            f"She looks as if she lay on her {lies}: choose the test she does, or press her side."
        )
    return _TO_DO[reason]


def say_shape(value: float, entry: MeasureEntry, words: LiveWords, tone: Tone | None) -> str:
    """Return a measure's shape in few words.

    Parameters
    ----------
    value : float
        In the measure's unit.
    entry : MeasureEntry
    words : LiveWords
    tone : Tone or None
        What is shown of it; None where the test says no word about it.
    """
    shown = abs(value)
    if (tone == "on" and shown <= entry.on_line) or shown <= entry.on_line / 2.0:
        return words.zero
    # Opening does not count where only closing does: 'on', and wide open all the same.
    is_little = tone == "close" or (tone != "off" and shown <= entry.close)
    little = "a little " if is_little else ""
    return (words.positive if value > 0 else words.negative).format(little=little)


def say_tone(tone: Tone) -> str:
    """Return the whole shape in a word, as everywhere."""
    return upper_first(_VERDICTS[tone].value)
