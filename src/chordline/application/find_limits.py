"""From the tests of one screen to what limits her, what is open, and what to test next."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from chordline.application.findings import (
    CapacityFinding,
    Findings,
    LimiterFinding,
    Reason,
    Stop,
    TestOffer,
    UndecidedFinding,
)
from chordline.application.findings_words import (
    capacity_in_words,
    compensation_in_words,
    decider_in_words,
    reason_in_words,
    shown_in_words,
    undecided_in_words,
)
from chordline.application.forecast.stance import lean_in_words, read_lean
from chordline.application.observations import find_one_sided, is_by_hand, observe
from chordline.catalogue.capacity_model import build_capacity_model
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.censored import update_with_bounds
from chordline.core.capacity.compensation import Compensation, find_compensations
from chordline.core.capacity.limiters import (
    Rules,
    Undecided,
    find_undecided,
    limiter_probabilities,
    rank_limiters,
    was_tested,
)
from chordline.core.capacity.model import Belief, CapacityModel
from chordline.core.capacity.next_test import Offer, rank_tests, rank_tests_between
from chordline.core.capacity.observed import (
    LEAN_MEASURE,
    Fault,
    Gathered,
    Held,
    Label,
    Observed,
    gather,
)
from chordline.core.capacity.update import Updated
from chordline.core.estimate import Estimate
from chordline.errors import WrongUseError

#: Measures of a limiter that are told as its reasons.
_MOST_REASONS = 3
#: A reason that moved the estimate by less than this share of the largest one is not told.
_SMALL_SHARE = 0.15


@dataclass(frozen=True)
class ScreenInput:
    """One gymnast's screen.

    Attributes
    ----------
    gymnast : str
    card : int or None
    screen : str
    measurements : tuple of Measurement
    held : tuple of Held
    flags : tuple of str
        Reported signs: keys of the catalogue's referrals.
    """

    gymnast: str
    card: int | None
    screen: str
    measurements: tuple[Measurement, ...]
    held: tuple[Held, ...] = ()
    flags: tuple[str, ...] = ()


class FindLimits:
    """Use case: judge a screen."""

    def __init__(self, catalogue: Catalogue, segments: SegmentCatalogue) -> None:
        self._catalogue = catalogue
        self._segments = segments

    @cached_property
    def model(self) -> CapacityModel:
        """The capacity model of the catalogue."""
        return build_capacity_model(self._catalogue)

    @cached_property
    def rules(self) -> Rules:
        """Where certainty begins."""
        setting = self._catalogue.setting
        return Rules(sure=setting("sure"), tied=setting("tied"), told=setting("told"))

    def __call__(self, screen: ScreenInput) -> Findings:
        """Return the findings.

        Raises
        ------
        WrongUseError
            For a flag that the catalogue does not know.
        """
        used, held = self._usable(screen)
        observed = [observe(one, self._read_lean) for one in used]
        gathered = self._gather(observed, held)
        prior = self.model.prior(by_hand=bool(used) and is_by_hand(used))
        updated = update_with_bounds(prior, gathered.evidence, gathered.bounds)
        belief = updated.belief
        undecided = find_undecided(belief, prior, self.model, self.rules)
        one_sided = find_one_sided(used, self._catalogue)
        flags = dict.fromkeys((*screen.flags, *(("one_sided",) if one_sided else ())))
        stops = tuple(self._stop(flag) for flag in flags)
        done = [one.test for one in observed] + [one.test for one in held]
        blocked = [test for stop in stops for test in stop.tests]
        offers = rank_tests(belief, self.model, self._minutes, done=done, blocked=blocked)
        minutes_spent = sum(self._minutes[test] for test in dict.fromkeys(done))
        open_questions = tuple(self._undecided(one, belief, done, blocked) for one in undecided)
        return Findings(
            gymnast=screen.gymnast,
            card=screen.card,
            screen=screen.screen,
            belief=belief,
            capacities=self._capacities(belief, prior, undecided),
            limiters=self._limiters(
                prior=prior,
                undecided=undecided,
                updated=updated,
                gathered=gathered,
                used=used,
                held=held,
            ),
            undecided=open_questions,
            next_test=self._next(offers, minutes_spent, open_questions),
            more_tests=tuple(self._describe(offer) for offer in offers),
            compensations=tuple(
                (change, compensation_in_words(change, self._catalogue))
                for change in self._compensations(observed, gathered.faults)
            ),
            faults=(*gathered.faults, *self._strangers(screen)),
            not_used=tuple(
                f"{one.photo}: {reason}"
                for one in screen.measurements
                if not one.trust.accepted
                for reason in one.trust.reasons
            ),
            stops=stops,
            cautions=one_sided,
            minutes_spent=minutes_spent,
            catalogue_version=self._catalogue.version,
            models=tuple(dict.fromkeys(one.model for one in used)),
        )

    def gather(self, screen: ScreenInput) -> Gathered:
        """Return the evidence of a screen, as judging it takes it."""
        used, held = self._usable(screen)
        return self._gather([observe(one, self._read_lean) for one in used], held)

    def _usable(self, screen: ScreenInput) -> tuple[list[Measurement], list[Held]]:
        """Return the measurements and holds that may count."""
        tests = self._catalogue.tests
        used = [one for one in screen.measurements if one.trust.accepted and one.test in tests]
        return used, [one for one in screen.held if one.test in tests]

    def _gather(self, observed: Sequence[Observed], held: Sequence[Held]) -> Gathered:
        known = self.model.by_test
        return gather(
            self.model,
            [one for one in observed if one.test in known],
            [one for one in held if one.test in known],
        )

    def _read_lean(self, measurement: Measurement) -> Estimate | None:
        stature_m = self._catalogue.setting("stature_m")
        return read_lean(measurement, self._segments, stature_m=stature_m)

    def _stop(self, flag: str) -> Stop:
        referral = self._catalogue.referrals.get(flag)
        if referral is None:
            known = ", ".join(self._catalogue.referrals)
            raise WrongUseError(f"no sign is called '{flag}'; known are {known}")
        tests = tuple(
            name
            for name, test in self._catalogue.tests.items()
            if name in referral.stops or test.group in referral.stops_groups
        )
        return Stop(flag, referral.label, referral.advice, tests)

    def _capacities(
        self, belief: Belief, prior: Belief, undecided: Sequence[Undecided]
    ) -> tuple[CapacityFinding, ...]:
        p = limiter_probabilities(belief, self.model)
        tested = was_tested(belief, prior, self.model, self.rules)
        for_a_word = replace(self.rules, told=self._catalogue.setting("worded"))
        enough = was_tested(belief, prior, self.model, for_a_word)
        open_names = {name for one in undecided for name in one.capacities}
        found = []
        for i, capacity in enumerate(self.model.capacities):
            mean = float(belief.mean[i])
            if not tested[i] or capacity.name in open_names:
                verdict = Verdict.CANNOT_TELL
            elif p[i] >= self.rules.sure:
                verdict = Verdict.SHORT
            elif not enough[i]:
                verdict = Verdict.CANNOT_TELL
            else:
                half = capacity.threshold / 2.0
                verdict = Verdict.ON_THE_LINE if mean <= half else Verdict.CLOSE
            words = capacity_in_words(capacity.name, mean, verdict, self._catalogue)
            if not tested[i]:
                words = "not tested yet"
            elif verdict is Verdict.CANNOT_TELL and capacity.name not in open_names:
                words = "these tests tell too little"
            found.append(
                CapacityFinding(
                    name=capacity.name,
                    label=self._catalogue.capacities[capacity.name].label,
                    mean=mean,
                    sd=float(belief.sd[i]),
                    p_limiter=float(p[i]),
                    tested=tested[i],
                    verdict=verdict,
                    words=words,
                )
            )
        return tuple(found)

    def _limiters(
        self,
        *,
        prior: Belief,
        undecided: Sequence[Undecided],
        updated: Updated,
        gathered: Gathered,
        used: Sequence[Measurement],
        held: Sequence[Held],
    ) -> tuple[LimiterFinding, ...]:
        found = []
        belief = updated.belief
        for one in rank_limiters(belief, prior, self.model, self.rules, undecided):
            entry = self._catalogue.capacities[one.capacity]
            state = belief.states.index(one.capacity)
            mean = float(belief.mean[state])
            found.append(
                LimiterFinding(
                    capacity=one.capacity,
                    label=entry.label,
                    what=entry.what,
                    p=one.p,
                    straightening_deg=one.straightening,
                    words=capacity_in_words(one.capacity, mean, Verdict.SHORT, self._catalogue),
                    work=entry.work,
                    reasons=self._reasons(
                        one.capacity, updated.shifts[state], gathered, used, held
                    ),
                )
            )
        return tuple(found)

    def _reasons(
        self,
        capacity: str,
        shifts: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
        gathered: Gathered,
        used: Sequence[Measurement],
        held: Sequence[Held],
    ) -> tuple[Reason, ...]:
        photos = {(one.photo, one.test): one for one in used}
        holds = {(one.source, one.test): one for one in held}
        order = np.argsort(-shifts)
        told = []
        for i in order[:_MOST_REASONS]:
            if shifts[i] <= _SMALL_SHARE * shifts[order[0]]:
                break
            label = gathered.labels[i]
            shown = self._shown(
                label,
                photos.get((label.source, label.test)),
                holds.get((label.source, label.test)),
            )
            sentence = reason_in_words(
                shown,
                float(shifts[i]),
                test=label.test,
                capacity=capacity,
                catalogue=self._catalogue,
            )
            told.append(Reason(sentence, label.source, label.test, label.measure, float(shifts[i])))
        return tuple(told)

    def _shown(self, label: Label, photo: Measurement | None, held: Held | None) -> str:
        lean = None
        if label.measure == LEAN_MEASURE and photo is not None:
            lean = self._read_lean(photo)
        if lean is not None:
            return lean_in_words(lean)
        return shown_in_words(label, measurement=photo, held=held, catalogue=self._catalogue)

    @cached_property
    def _minutes(self) -> dict[str, float]:
        return {name: test.minutes for name, test in self._catalogue.tests.items()}

    def _undecided(
        self, one: Undecided, belief: Belief, done: Sequence[str], blocked: Sequence[str]
    ) -> UndecidedFinding:
        if len(one.capacities) > 1:
            first, second = one.capacities
            offers = rank_tests_between(
                belief, self.model, self._minutes, (first, second), done=done, blocked=blocked
            )
        else:
            offers = rank_tests(
                belief, self.model, self._minutes, done=done, blocked=blocked, about=one.capacities
            )
        worth = self._catalogue.setting("worth_bits_per_minute") / 2.0
        ask = offers[0].test if offers and offers[0].bits_per_minute > worth else None
        return UndecidedFinding(
            one.capacities, undecided_in_words(one.capacities, ask, self._catalogue), ask
        )

    def _next(
        self,
        offers: Sequence[Offer],
        minutes_spent: float,
        undecided: Sequence[UndecidedFinding],
    ) -> TestOffer | None:
        """Return the best test that fits the short screen, else one that tells rivals apart."""
        worth = self._catalogue.setting("worth_bits_per_minute")
        left = self._catalogue.setting("short_screen_minutes") - minutes_spent
        fitting = [one for one in offers if one.bits_per_minute >= worth and one.minutes <= left]
        if fitting:
            return self._describe(fitting[0])
        by_test = {one.test: one for one in offers}
        rivals = [one for one in undecided if one.ask_test and len(one.capacities) > 1]
        return self._decider(by_test[rivals[0].ask_test or ""], rivals[0]) if rivals else None

    def _decider(self, offer: Offer, rivals: UndecidedFinding) -> TestOffer:
        return replace(
            self._describe(offer),
            sentence=decider_in_words(offer.test, rivals.capacities, self._catalogue),
        )

    def _describe(self, offer: Offer) -> TestOffer:
        test = self._catalogue.tests[offer.test]
        return TestOffer(
            test=offer.test,
            title=test.title,
            how=test.how,
            minutes=offer.minutes,
            gain_bits=offer.gain_bits,
            sentence=(
                f"{test.title}: {test.reads[0].lower()}{test.reads[1:]} "
                f"Expected to answer about {offer.gain_bits:.1f} yes-or-no questions "
                f"in {offer.minutes:g} min."
            ),
        )

    def _strangers(self, screen: ScreenInput) -> tuple[Fault, ...]:
        named = [(one.photo, one.test) for one in screen.measurements]
        named += [(one.source, one.test) for one in screen.held]
        return tuple(
            Fault(source, test, "", "the catalogue has no such test; it was measured with another")
            for source, test in named
            if test not in self._catalogue.tests
        )

    def _compensations(
        self, observed: Sequence[Observed], faults: Sequence[Fault]
    ) -> list[Compensation]:
        bad = {(fault.test, fault.measure) for fault in faults}
        by_test = {one.test: one for one in observed}
        found: list[Compensation] = []
        for one in observed:
            test = self._catalogue.tests[one.test]
            if test.base is None or test.base not in by_test:
                continue
            found += find_compensations(
                one,
                by_test[test.base],
                watched=tuple(
                    name for name in test.watch if not {(one.test, name), (test.base, name)} & bad
                ),
                repeat_sd={name: self._repeat_sd(name, one.test, test.base) for name in test.watch},
                confidence=self._catalogue.setting("compensation_confidence"),
            )
        return found

    def _repeat_sd(self, measure: str, *tests: str) -> float:
        """Return what she herself changes in a measure, over these tests (root mean square)."""
        rows = [self.model.by_measure.get((test, measure)) for test in tests]
        default = self._catalogue.setting("repeat_sd_deg")
        own = [default if row is None else row[1].repeat_sd for row in rows]
        return float(np.sqrt(np.mean(np.square(own))))
