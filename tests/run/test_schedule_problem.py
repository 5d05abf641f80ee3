"""From a painting order to the plain problem, on an order small enough to be checked by eye."""

from dataclasses import replace

import pytest
from small_schemes import mix, part_of

from finishplan.basics.errors import InputError
from finishplan.drying.times import dry_times
from finishplan.job.settings import Labour, Room, RunSettings
from finishplan.order.model import EdgeOrder, PaintingOrder, Pass, PassWork, Primer
from finishplan.paint.model import Premix
from finishplan.run.build import Painted, run_problem
from finishplan.run.hours import Hours
from finishplan.run.problem import Stream, ticks
from finishplan.run.schedule import schedule
from finishplan.scheme.model import Scheme, SchemeArea, SchemeEdge, SchemePart

ROOM = Room()
DRY = (
    dry_times("aerosol-primer", None, ROOM, dryer=False),
    dry_times("acrylic", None, ROOM),
    dry_times("varnish-water", None, ROOM),
)
LABOUR = Labour(handle_min=0.5, spray_per_cm2_min=0.02)
MIXES = tuple(mix(id, *(part_of(p, 1) for p in paints)) for id, paints in zip("ABC", ("w", "wr", "wrby"), strict=True))


def area(number, part):
    return SchemeArea(number, part, f"area {number}", (50, 0, 0), "#777777", 0.2, 10, 3, 9)


def one_pass(number, mix, *work, coats):
    return Pass(number, "colour", mix, work, coats, "round 2", "brush", 0.0)


BODY, HEAD = ("body", (1, 2, 3)), ("head", (4,))
PARTS = tuple(SchemePart(n, a, 10, 40, "drawing") for n, a in (BODY, HEAD))
SCHEME = Scheme(
    "Newt",
    60,
    0.1,
    PARTS,
    tuple(area(i, "head" if i == 4 else "body") for i in (1, 2, 3, 4)),
    (SchemeEdge((1, 2), 20, 1, False),),
)
ORDER = PaintingOrder(
    (
        one_pass(1, "A", PassWork(1, "body", 2, 1.0), PassWork(4, "head", 1, 0.7), coats=2),
        one_pass(2, "B", PassWork(2, "body", 1, 1.5), coats=1),
        one_pass(3, "C", PassWork(3, "body", 1, 0.8), PassWork(4, "head", 1, 0.2), coats=1),
    ),
    (EdgeOrder((1, 2), 1, 2, "cut", 20, "lighter first"),),
    (),
    Primer("white", "#ffffff", 0.9, 1, "", 1, "", 1),
    3,
    True,
)


def problem_of(scheme=SCHEME, order=ORDER, room=ROOM, **settings):
    return run_problem(Painted(scheme, order, MIXES, DRY), LABOUR, room, RunSettings(**settings))


def ops(problem):
    return problem.figures[0].operations


def index(problem):
    return {(op.pass_no, op.coat, op.part): i for i, op in enumerate(ops(problem))}


def test_one_operation_for_each_coat_of_a_pass_on_a_part():
    problem = problem_of()
    rows = [(op.pass_no, op.coat, op.part, problem.mixes[op.mix].name, op.kind) for op in ops(problem)]
    assert rows == [
        (0, 1, "body", "primer white", "prime"),
        (0, 1, "head", "primer white", "prime"),
        (1, 1, "body", "A", "coat"),
        (1, 1, "head", "A", "coat"),
        (1, 2, "body", "A", "coat"),
        (2, 1, "body", "B", "coat"),
        (3, 1, "body", "C", "coat"),
        (3, 1, "head", "C", "coat"),
    ]


def test_minutes_are_handling_and_the_areas_of_that_coat():
    works = {k: ops(problem_of())[i].work for k, i in index(problem_of()).items()}
    assert works[0, 1, "body"] == ticks(0.5 + 40 * 0.02)
    assert works[1, 1, "body"] == works[1, 2, "body"] == ticks(0.5 + 1.0)
    assert works[3, 1, "head"] == ticks(0.5 + 0.2)


def test_a_coat_waits_for_what_lies_under_and_beside_it_and_for_nothing_else():
    problem = problem_of()
    at = index(problem)
    over = {k: set(ops(problem)[n].over) for k, n in at.items()}
    beside = {k: set(ops(problem)[n].beside) for k, n in at.items()}
    assert over[1, 1, "body"] == {at[0, 1, "body"]} and over[1, 2, "body"] == {at[1, 1, "body"]}
    assert beside[2, 1, "body"] == {at[1, 2, "body"]} and not over[2, 1, "body"], "over the primer follows from that"
    assert over[3, 1, "body"] == {at[0, 1, "body"]}, "area 3 touches none of the others"
    assert over[3, 1, "head"] == {at[1, 1, "head"]}


def test_drying_is_that_of_primer_and_paint():
    problem = problem_of()
    for number, kind in ((0, "prime"), (1, "coat")):
        recoat = DRY[0].brushed_over_min if not number else DRY[1].recoat_min
        times = ticks(recoat), ticks(DRY[number].touch_dry_min), number != 0
        assert {(op.recoat, op.touch, op.forced) for op in ops(problem) if op.kind == kind} == {times}


def test_a_go_of_the_dryer_is_as_set_but_never_less_than_the_film_takes():
    """Two min for one or two castings, three for three or four; a film of 100 um takes longer in the warm air."""
    assert problem_of().stream == Stream((200, 200, 300, 300), 100) and not problem_of().dryer
    assert problem_of(room=replace(ROOM, dryer=True)).dryer
    thick = dry_times("acrylic", 100.0, ROOM)
    forced = dry_times("acrylic", 100.0, ROOM, dryer=True).dryer_hand_min
    dry = (DRY[0], thick, DRY[2])
    problem = run_problem(Painted(SCHEME, ORDER, MIXES, dry), LABOUR, ROOM, RunSettings())
    assert problem.stream.go[0] == ticks(forced) > 200


def test_a_sprayed_pass_dries_as_its_own_film():
    film = dry_times("airbrush", None, ROOM)
    sprayed = replace(ORDER.passes[0], tool="airbrush", wet_um=film.wet_um, touch_dry_min=film.touch_dry_min)
    problem = problem_of(order=replace(ORDER, passes=(sprayed, *ORDER.passes[1:])))
    assert {op.recoat for op in ops(problem) if op.pass_no == 1} == {ticks(film.recoat_min)}
    assert {op.recoat for op in ops(problem) if op.pass_no == 2} == {ticks(DRY[1].recoat_min)}


def test_mixing_a_pot_takes_its_paints():
    """1.5 min, 0.6 a paint, 1.0 a pre-mixed one; a spray can is not mixed; pots keep for a week, in a dish for 4 h."""
    problem = problem_of()
    assert [m.mixing for m in problem.mixes] == [0, 210, 270, 390] and problem.turn == 75
    pre = mix("B", part_of("w", 3), part_of("r", 1, Premix("r", 1, "w", 9)))
    figure = Painted(SCHEME, ORDER, (MIXES[0], pre, MIXES[2]), DRY)
    assert run_problem(figure, LABOUR, ROOM, RunSettings()).mixes[2].mixing == 370
    assert {m.life for m in problem.mixes[1:]} == {ticks(7 * 1440)} and problem.mixes[0].life is None
    assert {m.life for m in problem_of(palette="dish").mixes[1:]} == {24_000}
    assert {m.life for m in problem_of(palette="dish", pot_life_min=90).mixes[1:]} == {9000}


def test_the_makers_pace_is_in_all_minutes():
    slow = Labour(handle_min=0.5, spray_per_cm2_min=0.02, pace=1.5).paced
    problem = run_problem(Painted(SCHEME, ORDER, MIXES, DRY), slow, ROOM, RunSettings(session_min=180))
    assert problem.turn == ticks(1.125) and problem.mixes[0].mixing == 315 and problem.hours.setup == 1500
    assert slow.paced == slow


def test_a_can_is_sprayed_before_the_first_evening():
    """Common practice: its wait of an hour or two would else take up the evening. 30 castings, two parts of 40 cm2."""
    problem = problem_of(castings=30, session_min=180)
    assert problem.priming == (30 * 2 * ticks(0.5 + 40 * 0.02) + 75, ticks(DRY[0].brushed_over_min))
    assert all(op.kind == "coat" for op in ops(problem)) and problem.mixes[0].name == "A"
    run = schedule(replace(problem, effort=0))
    assert run.priming_min == problem.priming[0] / 100 and run.advice[0].startswith("Prime all 30 castings before")
    for other in ({}, {"session_min": 180, "cadence_min": 60}, {"session_min": 180, "rack": 2}):
        assert (
            problem_of(castings=2, **other).priming == (0, 0)
            and ops(problem_of(castings=2, **other))[0].kind == "prime"
        )


@pytest.mark.parametrize(
    ("text", "starts", "last_h"),
    [
        ("9:00", ("09:00", "day 2, 09:00"), ("09", "10")),
        ("23:30", ("23:30", "day 2, 23:30"), ("day 2, 00", "day 3, 00")),
        ("", ("", ""), ("", "")),
    ],
)
def test_sessions_begin_and_end_at_times_of_day_where_it_is_told(text, starts, last_h):
    """The end with its day where that is another; told to the minute in which the work ends."""
    problem = problem_of(castings=12, session_min=60, start_at=text, slack_min=0)
    sessions = schedule(replace(problem, effort=0)).sessions[:2]
    assert tuple(s.clock for s in sessions) == starts
    assert all(s.clock_end.startswith(last_h) for s in sessions)
    for s in sessions if text else ():
        told = int(s.clock_end[-5:-3]) * 60 + int(s.clock_end[-2:])
        began = int(text[:-3]) * 60 + int(text[-2:])
        assert 0 <= told - (began + s.end_min) % 1440 < 1


@pytest.mark.parametrize("text", ["noon", "24:00", "9:60", "9"])
def test_a_time_of_day_that_is_none_is_an_input_error(text):
    with pytest.raises(InputError, match="is not a time of day"):
        problem_of(start_at=text)


def test_a_part_after_another_waits_for_all_of_it():
    parts = (replace(PARTS[0], after=("head",)), PARTS[1])
    problem = problem_of(replace(SCHEME, parts=parts))
    at = index(problem)
    assert at[3, 1, "head"] < at[0, 1, "body"]
    assert ops(problem)[at[0, 1, "body"]].after == (at[3, 1, "head"],)


def test_parts_in_a_circle_are_an_input_error():
    parts = (replace(PARTS[0], after=("head",)), replace(PARTS[1], after=("body",)))
    with pytest.raises(InputError, match="body, head"):
        problem_of(replace(SCHEME, parts=parts))


def test_castings_arrive_shot_by_shot():
    problem = problem_of(castings=5, first_ready_min=30, cadence_min=12.5, per_shot=2)
    assert problem.castings.ready == (3000, 3000, 4250, 4250, 5500)


def test_sessions_of_the_settings():
    assert problem_of().hours == Hours()
    assert problem_of(session_min=120).hours == Hours(12_000, (0,), 144_000, 1000)
    assert problem_of(session_min=120, starts=(0.0, 300.0)).hours == Hours(12_000, (0, 30_000), 144_000, 1000)


@pytest.mark.parametrize(
    "settings, where",
    [
        ({"session_min": 4.5}, "session_min"),
        ({"session_min": 15.0}, "session_min"),
        ({"pot_life_min": 2.0}, "pot_life_min"),
        ({"session_min": 120, "starts": (0.0, 60.0)}, "starts"),
        ({"session_min": 120, "starts": (0.0,), "day_min": 100.0}, "starts"),
    ],
)
def test_what_cannot_be_scheduled_is_an_input_error(settings, where):
    with pytest.raises(InputError, match=where):
        problem_of(**settings)


@pytest.mark.parametrize("minutes, expected", [(1, 100), (0.1 + 0.2, 30), (1.001, 101), (2.675, 268)])
def test_minutes_are_rounded_up_to_whole_ticks(minutes, expected):
    assert ticks(minutes) == expected


def test_hours_by_hand():
    hours = Hours(100, (0, 150), 1000)
    assert [hours.window(n) for n in range(4)] == [(0, 100), (150, 250), (1150, 1250), (2150, 2250)]
    assert hours.fit(90, 10) == 90 and hours.fit(91, 10) == 150 and hours.fit(240, 11) == 1150
    assert hours.spend(50, 100) == 200 and hours.spend(120, 0) == 120 and hours.spend(120, 101) == 1151
    assert Hours().spend(5, 7) == 12


def test_set_up_and_cleared_away_by_hand():
    """Half of 21 before, half after (the odd tick before); a session that may run over ends later."""
    assert Hours(100, (0,), 1000, 21).window(1) == (1011, 1090) and Hours(100, (0,), 1000, 21).room == 79
    assert Hours(100, (0,), 1000, 21, 30).window(0) == (11, 120)
    with pytest.raises(ValueError, match="more time"):
        Hours(100, (0,), 1000, 100)


def test_a_session_a_day_unless_told():
    """The maker paints at the same hour each day."""
    assert Hours(length=ticks(120)).window(1)[0] - Hours(length=ticks(120)).window(0)[0] == ticks(24 * 60)
