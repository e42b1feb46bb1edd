"""What a lawn is owed over the years, compared whole. The lawn and its people are invented."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import BadSettings
from models.facts.place import Lawn, Position, Texture, Zone
from models.facts.rules import BusinessRules
from models.facts.season import Pest, Span, Species
from models.facts.work import GrubCount, PacksUsed, Programme, Treatment, Visit, VisitKind, VisitState
from scheduler.programme.owed import finished, owed

RULES = BusinessRules()
LAWN = Lawn(
    "oat/lawn",
    "oat",
    "Front lawn",
    Position(52.1, -6.4),
    "vale",
    Texture.LOAM,
    (Zone("front", 150.0),),
    tap_litres_per_minute=12.0,
)
P = "oat/lawn/leatherjackets/2027"


def a_programme(starts_on: date, years: int = 3) -> Programme:
    key = Programme.key_for(LAWN.key, Pest.LEATHERJACKETS, starts_on)
    return Programme(key, LAWN.key, Pest.LEATHERJACKETS, Species.S_FELTIAE, starts_on, years)


def at(day: date) -> datetime:
    return datetime.combine(day, time(3, 30), UTC)


class Book:
    """A programme and its visits as they stand, moved on from day to day."""

    def __init__(self, starts_on: date, *, renewed: bool = False) -> None:
        self.programme = a_programme(starts_on)
        self.renewed = renewed
        self.visits: dict[str, Visit] = {}
        self.counts: list[GrubCount] = []
        self.treatments: list[Treatment] = []

    def plan(self, today: date) -> tuple[Visit, ...]:
        changed = owed(
            self.programme,
            LAWN,
            tuple(self.visits.values()),
            self.counts,
            self.treatments,
            today,
            RULES,
            at(today),
            renewed=self.renewed,
        )
        self.visits |= {visit.key: visit for visit in changed}
        return changed

    def change(self, key: str, state: VisitState, day: date | None) -> None:
        old = self.visits[key]
        self.visits[key] = replace(old, state=state, day=day, revision=old.revision + 1)

    def count(self, key: str, day: date, found: tuple[int, ...]) -> None:
        self.change(key, VisitState.DONE, day)
        self.counts.append(GrubCount(key, LAWN.key, day, "cores", 0.01, found, at(day)))

    def treat(self, key: str, day: date) -> None:
        self.change(key, VisitState.DONE, day)
        packs = (PacksUsed("batch", self.visits[key].packs),)
        self.treatments.append(Treatment(key, LAWN.key, day, 150.0, 1.0, packs, 14.0, 6.0, at(day)))


def told(visits: Sequence[Visit]) -> list[tuple[str, str, str]]:
    return [(visit.key, visit.state.value, visit.reason) for visit in visits]


def test_three_years_from_an_august_start() -> None:
    # Common practice: three years; an autumn treatment each, early September to end of October.
    book = Book(date(2027, 8, 9))
    book.plan(date(2027, 8, 9))
    assert {(v.key, v.allowed, v.packs, v.minutes) for v in book.visits.values()} == {
        (f"{P}/2027-2-autumn/survey/1", Span(date(2027, 8, 12), date(2027, 9, 20)), 0, 30),
        (f"{P}/2027-2-autumn/treatment/1", Span(date(2027, 9, 1), date(2027, 10, 31)), 2, 36),
        (f"{P}/2028-1-spring/late-winter-count/1", Span(date(2028, 2, 1), date(2028, 3, 20)), 0, 40),
        (f"{P}/2028-2-autumn/treatment/1", Span(date(2028, 9, 1), date(2028, 10, 31)), 2, 36),
        (f"{P}/2029-1-spring/late-winter-count/1", Span(date(2029, 2, 1), date(2029, 3, 20)), 0, 40),
        (f"{P}/2029-2-autumn/treatment/1", Span(date(2029, 9, 1), date(2029, 10, 31)), 2, 36),
        (f"{P}/2030-1-spring/late-winter-count/1", Span(date(2030, 2, 1), date(2030, 3, 20)), 0, 40),
    }
    assert {(v.state, v.day, v.revision) for v in book.visits.values()} == {(VisitState.OWED, None, 1)}
    assert book.plan(date(2027, 8, 9)) == ()


def test_who_joins_in_october_is_treated_in_the_same_autumn() -> None:
    book = Book(date(2027, 10, 11))
    book.plan(date(2027, 10, 11))
    first = book.visits[f"{P}/2027-2-autumn/treatment/1"]
    assert first.allowed == Span(date(2027, 10, 11), date(2027, 10, 31))


def test_who_joins_in_november_begins_with_the_next_autumn() -> None:
    book = Book(date(2027, 11, 1))
    seasons = [v.season.key for v in book.plan(date(2027, 11, 1)) if v.kind is VisitKind.TREATMENT]
    assert seasons == ["2028-2-autumn", "2029-2-autumn", "2030-2-autumn"]


def test_a_renewed_programme_has_no_survey() -> None:
    kinds = {visit.kind for visit in Book(date(2030, 8, 1), renewed=True).plan(date(2030, 8, 1))}
    assert kinds == {VisitKind.TREATMENT, VisitKind.COUNT}


def test_a_count_above_the_threshold_calls_for_a_spring_treatment_at_double_dose() -> None:
    book = Book(date(2027, 8, 9))
    book.plan(date(2027, 8, 9))
    book.change(f"{P}/2027-2-autumn/survey/1", VisitState.DONE, date(2027, 8, 13))
    book.treat(f"{P}/2027-2-autumn/treatment/1", date(2027, 9, 14))
    book.plan(date(2027, 9, 15))
    book.change(f"{P}/2027-2-autumn/follow-up-check/1", VisitState.DONE, date(2027, 10, 18))
    book.count(f"{P}/2028-1-spring/late-winter-count/1", date(2028, 3, 3), (2, 3, 1, 4, 0, 2, 3, 1))
    (spring,) = book.plan(date(2028, 3, 4))
    assert told([spring]) == [
        (
            f"{P}/2028-1-spring/treatment/1",
            "owed",
            "the late-winter count of 3 March found 200 per m2; "
            "160 per m2 or more calls for a spring treatment at double dose",
        )
    ]
    assert spring.packs == 3  # common practice: 150 m2 takes 2 packs at the regular dose, 3 at double
    assert spring.minutes == 44  # 20 set-out, 8 a pack: common practice
    assert spring.allowed == Span(date(2028, 4, 15), date(2028, 5, 15))
    assert book.plan(date(2028, 3, 4)) == ()


def test_a_count_just_below_the_threshold_calls_for_none() -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    book.treat(f"{P}/2027-2-autumn/treatment/1", date(2027, 9, 14))
    book.plan(date(2027, 9, 15))
    book.change(f"{P}/2027-2-autumn/follow-up-check/1", VisitState.DONE, date(2027, 10, 18))
    # 1599 in 10 m2 is 159.9 per m2
    book.count(f"{P}/2028-1-spring/late-winter-count/1", date(2028, 3, 3), (1599, *[0] * 999))
    assert told(book.plan(date(2028, 3, 4))) == [
        (
            f"{P}/2028-1-spring/treatment/1",
            "not needed",
            "the late-winter count of 3 March found 159.9 per m2; "
            "160 per m2 or more would call for a spring treatment at double dose",
        )
    ]


def test_a_count_out_of_its_time_decides_nothing() -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    key = f"{P}/2028-1-spring/late-winter-count/1"
    book.visits = {key: book.visits[key]}
    book.count(key, date(2028, 6, 3), (9,))
    assert [(v.state, v.reason) for v in book.plan(date(2028, 6, 4))] == [
        (
            VisitState.NOT_NEEDED,
            "the late-winter count of 3 June found 900 per m2, but that is too early or too late "
            "in the year to tell leatherjackets from a count",
        )
    ]


@pytest.mark.parametrize(
    ("treated", "allowed"),
    [
        # 21 to 35 days after (common practice), from 15 October on (Milne et al. 1958) in autumn
        (date(2027, 9, 3), Span(date(2027, 10, 15), date(2027, 10, 29))),
        (date(2027, 9, 24), Span(date(2027, 10, 15), date(2027, 10, 29))),
        (date(2027, 9, 25), Span(date(2027, 10, 16), date(2027, 10, 30))),
        (date(2027, 10, 31), Span(date(2027, 11, 21), date(2027, 12, 5))),
    ],
)
def test_a_follow_up_comes_when_counts_can_tell(treated: date, allowed: Span) -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    book.treat(f"{P}/2027-2-autumn/treatment/1", treated)
    (check,) = book.plan(treated + timedelta(days=1))
    assert (check.key, check.kind, check.allowed) == (
        f"{P}/2027-2-autumn/follow-up-check/1",
        VisitKind.FOLLOW_UP,
        allowed,
    )
    assert book.plan(treated + timedelta(days=1)) == ()


@pytest.mark.parametrize(
    ("treated", "state", "allowed"),
    [
        (date(2028, 4, 20), VisitState.OWED, Span(date(2028, 5, 11), date(2028, 5, 25))),
        (date(2028, 5, 4), VisitState.OWED, Span(date(2028, 5, 25), date(2028, 5, 31))),
        (date(2028, 5, 12), VisitState.NOT_NEEDED, Span(date(2028, 6, 2), date(2028, 6, 16))),
    ],
)
def test_a_late_spring_treatment_cannot_be_checked(treated: date, state: VisitState, allowed: Span) -> None:
    book = Book(date(2027, 11, 9), renewed=True)
    book.plan(date(2027, 11, 9))
    autumn = next(visit for visit in book.visits.values() if visit.kind is VisitKind.TREATMENT)
    spring = replace(autumn, key="spring", season=replace(autumn.season, year=2028))
    spring = replace(spring, season=type(spring.season).parse("2028-1-spring"))
    book.visits = {spring.key: spring}
    book.treat("spring", treated)
    (check,) = book.plan(treated + timedelta(days=1))
    assert (check.state, check.allowed) == (state, allowed)


def test_a_missed_autumn_says_why_and_the_count_is_still_owed() -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    assert book.plan(date(2027, 10, 31)) == ()
    assert told(book.plan(date(2027, 11, 1))) == [
        (
            f"{P}/2027-2-autumn/treatment/1",
            "missed",
            "no treatment in autumn 2027: its days ended on 31 October before one was booked",
        )
    ]
    assert book.visits[f"{P}/2028-1-spring/late-winter-count/1"].is_open


def test_a_missed_treatment_repeats_the_last_word_the_client_had() -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    key = f"{P}/2027-2-autumn/treatment/1"
    book.visits[key] = replace(book.visits[key], revision=3, reason="not treated on 28 October: frost")
    (missed,) = book.plan(date(2027, 11, 1))
    assert missed.reason == (
        "no treatment in autumn 2027: its days ended on 31 October before one was booked; "
        "not treated on 28 October: frost"
    )
    assert missed.revision == 4


def test_without_a_survey_the_treatment_is_missed_for_that() -> None:
    book = Book(date(2027, 10, 25))
    book.plan(date(2027, 10, 25))
    assert told(book.plan(date(2027, 11, 1))) == [
        (
            f"{P}/2027-2-autumn/treatment/1",
            "missed",
            "no treatment in autumn 2027: its days ended on 31 October before one was booked; "
            "the survey that comes first was not made",
        )
    ]


def test_a_booked_visit_waits_three_days_for_its_record() -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    key = f"{P}/2027-2-autumn/treatment/1"
    book.change(key, VisitState.BOOKED, date(2027, 10, 29))
    for day in (date(2027, 10, 29), date(2027, 10, 31), date(2027, 11, 1)):
        assert book.plan(day) == ()
    assert told(book.plan(date(2027, 11, 2))) == [(key, "missed", "no record of the visit on 29 October")]
    assert book.visits[key].day == date(2027, 10, 29)


def test_a_missed_survey_is_asked_for_again() -> None:
    book = Book(date(2027, 8, 9))
    book.plan(date(2027, 8, 9))
    book.change(f"{P}/2027-2-autumn/survey/1", VisitState.BOOKED, date(2027, 8, 16))
    assert told(book.plan(date(2027, 8, 20))) == [
        (f"{P}/2027-2-autumn/survey/1", "missed", "no record of the visit on 16 August"),
        (
            f"{P}/2027-2-autumn/survey/2",
            "owed",
            "the survey was missed, and no treatment is booked before one",
        ),
    ]
    assert book.visits[f"{P}/2027-2-autumn/survey/2"].allowed == Span(date(2027, 8, 23), date(2027, 10, 1))
    assert book.plan(date(2027, 8, 20)) == ()


def test_a_missed_count_leaves_spring_without_treatment() -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    book.plan(date(2027, 11, 1))
    assert told(book.plan(date(2028, 3, 21))) == [
        (
            f"{P}/2028-1-spring/late-winter-count/1",
            "missed",
            "no late-winter count in spring 2028: its days ended on 20 March before one was booked",
        ),
        (
            f"{P}/2028-1-spring/treatment/1",
            "not needed",
            "nothing called for a treatment in spring 2028: no late-winter count in "
            "spring 2028: its days ended on 20 March before one was booked",
        ),
    ]


def test_a_programme_is_finished_after_its_last_spring() -> None:
    book = Book(date(2027, 8, 9), renewed=True)
    book.plan(date(2027, 8, 9))
    book.plan(date(2030, 3, 21))
    last_day = date(2030, 5, 15)
    assert finished(book.programme, book.visits.values(), last_day) is None
    assert (
        finished(book.programme, book.visits.values(), last_day + timedelta(days=1))
        == "its 3 years are over: the last of its days was 15 May 2030"
    )


def test_a_programme_with_an_open_visit_or_none_yet_is_not_finished() -> None:
    book = Book(date(2027, 8, 9))
    assert finished(book.programme, (), date(2040, 1, 1)) is None
    book.plan(date(2027, 8, 9))
    assert finished(book.programme, book.visits.values(), date(2040, 1, 1)) is None


def test_a_pest_without_an_autumn_rule_is_refused_by_name() -> None:
    chafers = replace(a_programme(date(2027, 8, 9)), pest=Pest.CHAFERS)
    today = date(2027, 8, 9)
    with pytest.raises(BadSettings, match="setting autumn window rule is 'chafers'"):
        owed(chafers, LAWN, (), (), (), today, RULES, at(today))


days = st.dates(date(2024, 1, 1), date(2030, 12, 31))


@given(starts_on=days, years=st.integers(1, 5), renewed=st.booleans())
def test_keys_are_unique_and_seasons_follow_each_other(starts_on: date, years: int, renewed: bool) -> None:
    programme = a_programme(starts_on, years)
    visits = owed(programme, LAWN, (), (), (), starts_on, RULES, at(starts_on), renewed=renewed)
    assert len({visit.key for visit in visits}) == len(visits)
    for kind in (VisitKind.TREATMENT, VisitKind.COUNT):
        spans = [visit.allowed for visit in visits if visit.kind is kind]
        assert len(spans) == years
        assert all(a.last < b.first for a, b in pairwise(spans))
    assert all(visit.allowed.last >= starts_on for visit in visits)


@given(
    starts_on=days,
    steps=st.lists(st.tuples(st.integers(1, 120), st.sampled_from(VisitState)), max_size=12),
    density=st.integers(0, 5),
)
def test_revisions_only_rise_and_a_second_plan_changes_nothing(
    starts_on: date, steps: list[tuple[int, VisitState]], density: int
) -> None:
    book, today = Book(starts_on), starts_on
    for gap, state in steps:
        before = dict(book.visits)
        book.plan(today)
        assert all(book.visits[key].revision >= visit.revision for key, visit in before.items())
        assert all(book.visits[key].key == key for key in before)
        assert book.plan(today) == ()
        answer(book, today, state, density)
        today += timedelta(days=gap)


def answer(book: Book, today: date, state: VisitState, density: int) -> None:
    """People do something with the first open visit, whatever it is."""
    visit = next((visit for visit in book.visits.values() if visit.is_open), None)
    if visit is None:
        return
    if state is not VisitState.DONE:
        book.change(visit.key, state, today if state is VisitState.BOOKED else None)
    elif visit.kind is VisitKind.COUNT:
        book.count(visit.key, today, (density,))
    elif visit.kind is VisitKind.TREATMENT:
        book.treat(visit.key, today)
    else:
        book.change(visit.key, VisitState.DONE, today)
