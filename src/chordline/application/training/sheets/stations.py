"""Tonight's stations: who does what, where, in which round; and the exercises beside it."""

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass

from chordline.application.tongue import Tongue
from chordline.application.training.names import called
from chordline.application.training.planned import Evening, PlannedStation
from chordline.application.training.words import CARE, ToldExercise, stays, tell_exercise
from chordline.catalogue.training_schema import TrainingCatalogue


@dataclass(frozen=True)
class StationTurn:
    """What is done at a station in a round, and by whom."""

    told: ToldExercise
    gymnasts: tuple[str, ...]


@dataclass(frozen=True)
class StationColumn:
    """A station: its name, what stands there, and the exercises of the evening."""

    name: str
    equipment: str
    exercises: tuple[ToldExercise, ...]


@dataclass(frozen=True)
class StationRound:
    """A round: its name, when it begins, a cell a station, and who rests.

    A cell holds several turns where two exercises share a station, and none where it is empty.
    """

    name: str
    begins: str
    cells: tuple[tuple[StationTurn, ...], ...]
    resting: str


@dataclass(frozen=True)
class StationsSheet:
    """An evening on the wall, across."""

    language: str
    title: str
    group: str
    day: str
    facts: str
    round_heading: str
    stations: tuple[StationColumn, ...]
    rounds: tuple[StationRound, ...]
    absent: str
    nothing: str
    exercises_heading: str
    watch_label: str
    care_label: str
    spoken: str
    care: tuple[str, ...]


def make_stations_sheet(
    evening: Evening,
    stations: tuple[PlannedStation, ...],
    *,
    group: str,
    names: Mapping[int, str],
    barred: Mapping[int, Set[str]],
    training: TrainingCatalogue,
    tongue: Tongue,
) -> StationsSheet:
    """Return the sheet.

    Parameters
    ----------
    evening : Evening
    stations : tuple of PlannedStation
        Of its plan, as its turns number them.
    group : str
    names : mapping of gymnast to str
        Full names; who is not in it is gone from the records and is left out.
    barred : mapping of gymnast to set of str
        Loads that signs bar which are open now: a turn that loads them is a rest, whatever was
        planned. Why, the wall does not say.
    training : TrainingCatalogue
    tongue : Tongue
    """
    short = called({id_: names[id_] for id_ in evening.gymnasts if id_ in names})

    def listed(ids: Iterable[int]) -> tuple[str, ...]:
        return tuple(sorted(short[id_] for id_ in ids if id_ in short))

    def may(id_: int, exercise: str) -> bool:
        return stays(exercise, barred.get(id_, frozenset()), training)

    used = sorted({turn.station for turns in evening.rounds for turn in turns})
    columns = tuple(_column(number, stations, evening, training, tongue) for number in used)
    rounds = []
    for place, turns in enumerate(evening.rounds):
        cells = tuple(
            tuple(
                StationTurn(tell_exercise(turn.exercise, training, tongue), hers)
                for turn in turns
                if turn.station == number
                and (hers := listed(id_ for id_ in turn.gymnasts if may(id_, turn.exercise)))
            )
            for number in used
        )
        waiting = evening.resting[place] if place < len(evening.resting) else ()
        held = (id_ for turn in turns for id_ in turn.gymnasts if not may(id_, turn.exercise))
        resting = listed((*waiting, *held))
        rounds.append(
            StationRound(
                name=tongue.number(place + 1),
                begins=_begins(evening, place, tongue),
                cells=cells,
                resting=tongue.say("Rest: {names}", names=", ".join(resting)) if resting else "",
            )
        )
    absent = listed(evening.absent)
    day = tongue.weekday(evening.held_on)
    return StationsSheet(
        language=tongue.code,
        title=tongue.say("Stations: {group}, {day}", group=group, day=day),
        group=group,
        day=day,
        facts=_facts(evening, len(short) - len(absent), tongue),
        round_heading=tongue.say("Round"),
        stations=columns,
        rounds=tuple(rounds),
        absent=tongue.say("Not here: {names}", names=", ".join(absent)) if absent else "",
        nothing="" if used else tongue.say("Nothing is planned for this session."),
        exercises_heading=tongue.say("At the stations"),
        watch_label=tongue.say("Watch:"),
        care_label=tongue.say("Care:"),
        spoken=tongue.say("Drawing of the exercise"),
        care=tuple(map(tongue.say, CARE)),
    )


def _column(
    number: int,
    stations: tuple[PlannedStation, ...],
    evening: Evening,
    training: TrainingCatalogue,
    tongue: Tongue,
) -> StationColumn:
    exercises = dict.fromkeys(
        turn.exercise for turns in evening.rounds for turn in turns if turn.station == number
    )
    known = stations[number] if 0 <= number < len(stations) else None
    name = tongue.say("Station {number}", number=tongue.number(number + 1))
    return StationColumn(
        name=name if known is None else known.name,
        equipment=""
        if known is None
        else ", ".join(
            tongue.word("equipment", training.equipment[one].label)
            for one in known.equipment
            if one in training.equipment
        ),
        exercises=tuple(tell_exercise(one, training, tongue) for one in exercises),
    )


def _begins(evening: Evening, place: int, tongue: Tongue) -> str:
    """Return when a round begins: the clock where it is known, else minutes from the beginning."""
    minutes = evening.warm_up_min + place * evening.round_min
    if evening.starts_at is None:
        return tongue.say("minute {number}", number=tongue.number(minutes))
    whole = evening.starts_at.hour * 60 + evening.starts_at.minute + round(minutes)
    return tongue.clock(evening.starts_at.replace(hour=whole // 60 % 24, minute=whole % 60))


def _facts(evening: Evening, here: int, tongue: Tongue) -> str:
    facts = []
    if evening.starts_at is not None:
        facts.append(tongue.say("from {clock}", clock=tongue.clock(evening.starts_at)))
    facts.append(tongue.say_n("{count} gymnast", "{count} gymnasts", here))
    facts.append(tongue.say("warm-up {amount}", amount=tongue.amount(evening.warm_up_min, "min")))
    facts.append(
        tongue.say("a round takes {amount}", amount=tongue.amount(evening.round_min, "min"))
    )
    facts.append(tongue.say_n("{count} coach", "{count} coaches", evening.coaches))
    return " · ".join(facts)
