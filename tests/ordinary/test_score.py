"""The bench judges as a person would: each judge accepts what is right and nothing else."""

import pytest

from .jobs import KINDS, Expect, OrdinaryJob, all_jobs, full_nameplate, read_rows, sample
from .score import JUDGES, SKIP, Bench, Line, Outcome, Result, by_name, misses, score, table

HEADINGS = (
    "maker,model,kind,voltage [V],frequency [Hz],phase,poles,speed [rpm],ratings [hp],"
    "currents [A],capacitor [uF],capacitor voltage [V],insulation class,ambient rating [degC],"
    "bearings,rotation,rotation seen from,frame,shaft diameter [in],shaft length [in],"
    "body diameter [in],body length [in],mounting,shaft positions,drain plugs,enclosure,protector"
)
REST = "sleeve,reversible,,48,0.5,5,5.6,4,belly band,up; down,both ends,totally enclosed air over,"
MOTORS = read_rows("\n".join((
    HEADINGS,
    f"Demo,T-1,psc,208-230,60,1,6,1075,1/4,1.5,5,370,B,60,{REST}automatic thermal",
    f"Demo,T-2,psc,208-230,60,1,6,1075,1/6; 1/4; 1/3,1.3; 1.5; 1.9,5,370,B,40,{REST}none",
    f"Demo,T-3,psc,460,60,1,6,1075,1/4,0.75,5,370,B,60,{REST}automatic thermal",
    f"Demo,T-4,psc,208-230,60,1,8,825,1/4,1.6,5,370,B,60,{REST}automatic thermal",
)))  # fmt: skip


class OfThese(Bench):
    """A bench with those motors, and with the outcomes of neighbors by their seed."""

    def __init__(self, beside=()):
        self.rows, self.row_of = MOTORS, by_name(MOTORS)
        self.beside = beside

    def outcome(self, tables, seed=0):
        return self.beside[seed]


def check(name, state, why="", found=None, limit=None, unit=""):
    return {"name": name, "state": state, "why": why, "found": found, "limit": limit, "unit": unit}


def candidate(motor="Demo T-1", horsepower=0.25, verdict="fits", *checks):
    return {"motor": motor, "rating_hp": horsepower, "verdict": verdict, "checks": list(checks)}


def outcome(*candidates, **more):
    return Outcome({"candidates": list(candidates), **more})


FITS = outcome(candidate())
REFUSES = outcome(candidate("Demo T-1", 0.25, "does not fit", check("voltage", "fail", "277 V")))
CRASHED = Outcome({}, "bad input: loss: 5828 W is not accepted")
TORQUE = {"low": 1.16, "mid": 1.4, "high": 1.6}


def refused(name, why, found, limit, unit=""):
    return outcome(
        candidate("Demo T-1", 0.25, "does not fit", check(name, "fail", why, found, limit, unit))
    )


def open_(*names, why=""):
    checks = (check(name, "missing", why) for name in names)
    return outcome(candidate("Demo T-1", 0.25, "fits with work", *checks))


MANY = tuple(candidate(name, 0.5) for name in ("Demo T-2", "Demo T-3", "Demo T-4"))
TIES = tuple(candidate("Demo T-1", 0.25) for _ in range(3))  # as if three makers had it

# Judge, what it compares with, an answer that meets it, and answers that don't.
CASES = (
    ("answers", None, FITS, [CRASHED]),
    ("accepts", ("Demo T-1", 0.25), FITS, [REFUSES, CRASHED, outcome(MANY[0])]),
    ("accepts", ("Demo T-2", 0.25), outcome(candidate("Demo T-2", 0.25)),
     [outcome(candidate("Demo T-2", 1 / 3))]),
    ("first three", ("Demo T-1", 0.25), outcome(*MANY[:2], candidate()),
     [outcome(*MANY, candidate())]),
    ("first three, ties aside", ("Demo T-2", 0.25), outcome(*TIES, candidate("Demo T-2", 0.25)),
     [outcome(*MANY, candidate("Demo T-2", 0.25))]),
    ("accepts something", None, FITS, [REFUSES, CRASHED]),
    ("first size", (0.25,), FITS, [
        outcome(candidate("Demo T-1", 0.5)),
        outcome(candidate("Demo T-1", 0.5, "fits with work", check("capacitor", "adapt", "size"))),
    ]),
    ("first size", (0.2,), outcome(
        candidate("Demo T-1", 0.25, "fits with work", check("size", "adapt", "One size up."))
    ), [FITS]),
    ("right circuit", ("208-230", 236, 60.0, 6), FITS,
     [outcome(candidate("Demo T-3")), outcome(candidate("Demo T-4"))]),
    ("right circuit", ("208-230", None, 60.0, 6), FITS, [outcome(candidate("Demo T-3"))]),
    ("few questions", 2, open_("frame", "mounting"), [open_("frame", "mounting", "shaft length")]),
    ("asks", ("amp",), open_("full-load amps"), [open_("example"), FITS, CRASHED]),
    ("mentions", ("voltage",), outcome(candidate(), assumed=["supply voltage"]), [FITS, CRASHED]),
    ("stops for", "voltage", REFUSES,
     [FITS, CRASHED, refused("starting on low voltage", "stalls", 500, 840)]),
    ("stops for", "voltage or poles", refused("speed", "4 poles", 6, 4), [FITS]),
    ("says it is near", "voltage", open_("voltage"), [FITS, open_("capacitor voltage")]),
    ("nothing without a question", None, open_("ambient rating"), [FITS, CRASHED]),
    ("nothing without a question", None, REFUSES, [CRASHED]),
    ("ambient rating at least", 50.0, FITS, [outcome(candidate("Demo T-2")), CRASHED]),
    ("refusal is true", None,
     refused("torque", "1.16 times the fan's; 1.25 is needed", TORQUE, 1.25),
     [refused("torque", "1.4 times the fan's: too little", TORQUE, 1.25)]),
    ("refusal is true", None,
     refused("voltage", "277 V, not 187 to 253 V", 277.0, "187 to 253 V", "V"),
     [refused("voltage", "230 V, not 187 to 253 V", 230.0, "187 to 253 V", "V")]),
    ("refusal is true", None, refused("ambient rating", "hot", 65.0, 60.0, "degC"),
     [refused("ambient rating", "hot", 55.0, 60.0, "degC")]),
    ("refusal in words", None,
     refused("ambient rating", "149 degF, above its rated 140 degF", 65.0, 60.0, "degC"),
     [refused("ambient rating", "above its rated 140 degF", 65.0, 60.0, "degC")]),
    ("refusal in words", None,
     refused("shaft power", "1/4 hp for 1/2 hp of fan", 186.4, 372.8, "W"),
     [refused("shaft power", "too weak", 186.4, 372.8, "W")]),
)  # fmt: skip


@pytest.mark.parametrize(("what", "value", "right", "wrong"), CASES)
def test_a_judge_accepts_what_is_right_and_nothing_else(what, value, right, wrong):
    judge, bench = JUDGES[what].judge, OfThese()
    assert judge(value, right, None, bench) is None
    for one in wrong:
        assert isinstance(judge(value, one, None, bench), str)


def test_documents_of_one_job_name_one_motor_of_the_catalog():
    class Printed(OfThese):
        def documents(self, tables):
            return self.beside

    def judged(*named):
        bench = Printed(dict(zip(("work", "order", "proposal"), named)))
        job = OrdinaryJob("documents", "", {}, ())
        whats = ("one motor in all documents", "work names a motor")
        return [JUDGES[what].judge(None, None, job, bench) is None for what in whats]

    assert judged("Demo T-1", "Demo T-1", "Demo T-1") == [True, True]
    assert judged("Demo T-1", "Demo T-1", "Demo T-2") == [False, True]
    assert judged("nothing fits", "nothing fits", "nothing fits") == [True, False]
    assert judged("exit 2: voltage") == [False, False]


def test_a_neighbor_that_refuses_is_found_and_a_question_is_a_warning():
    near = candidate("Demo T-1", 0.25, "fits", check("voltage", "pass", "252 V"))
    warned = candidate("Demo T-1", 0.25, "fits with work", check("voltage", "missing", "252 V"))
    job = OrdinaryJob("neighbors", "", {}, (), (("voltage 253 V", {}, 0),))
    refuses, fits = OfThese([REFUSES]), OfThese([FITS])
    stays, near_is_said = JUDGES["stays"].judge, JUDGES["near is said"].judge
    assert "voltage 253 V" in stays(None, outcome(near), job, refuses)
    assert "voltage 253 V" in near_is_said(None, outcome(near), job, refuses)
    assert near_is_said(None, outcome(warned), job, refuses) is None
    assert stays(None, outcome(warned), job, refuses) is SKIP
    assert stays(None, outcome(near), job, fits) is None


def test_the_table_counts_by_kind_and_says_where_it_falls_short():
    expect = Expect("accepts something", None, "The catalog has one.")
    jobs = [OrdinaryJob("twins", title, {}, (expect,)) for title in ("one", "two")]
    results = [Result(jobs[0], expect, ""), Result(jobs[1], expect, "nothing")]
    results += [Result(jobs[1], expect, "nothing")]
    assert "1    3    33%    98%  short" in table(results)
    assert "twins: two" in misses(results) and "came: nothing" in misses(results)
    assert "twins: one" not in misses(results)


def test_a_small_sample_may_miss_by_a_part_of_a_job_and_never_where_all_is_asked():
    assert Line("twins", "accepts", 11, 12, 0.98).enough
    assert not Line("twins", "accepts", 10, 12, 0.98).enough
    assert not Line("twins", "answers", 11, 12, 1.0).enough


def test_a_job_that_cannot_be_read_is_a_miss_and_stops_nothing():
    expect = (Expect("answers", None, ""), Expect("accepts something", None, ""))
    job = OrdinaryJob("twins", "", {"nameplate": {"voltge": "230 V"}}, expect)
    bench = Bench()
    assert ["voltge" in result.came for result in score([job], bench)] == [True, True]


def test_the_bench_has_four_hundred_jobs_of_every_kind_and_the_same_each_time():
    rows = Bench().rows
    jobs = all_jobs(rows)
    assert len(jobs) >= 400 and {job.kind for job in jobs} == set(KINDS)
    assert jobs == all_jobs(rows)
    assert all(expect.what in JUDGES and expect.reason for job in jobs for expect in job.expect)
    assert {expect.what for job in jobs for expect in job.expect} == set(JUDGES)
    replaced = " ".join(job.title for job in jobs if job.kind == "twins")
    assert all(row.name in replaced for row in rows)
    assert {job.kind for job in sample(jobs, 60)} == set(KINDS)


def test_a_motor_that_nobody_doubts_is_one_that_goes_in_the_old_ones_place():
    old = full_nameplate("1/4", "208-230", 6, 1.5) | {"rotation": "clockwise"}
    assert MOTORS[0].takes_the_place(old)
    assert not MOTORS[1].takes_the_place(old)  # it has no thermal protector
    for other in ({"frame": "56"}, {"shaft_diameter": "5/8 in"}, {"shaft_length": "6 in"},
                  {"shaft_position": "horizontal"}):  # fmt: skip
        assert not MOTORS[0].takes_the_place(old | other)
    assert MOTORS[0].stands(40.0) and not MOTORS[0].stands(50.0)
    assert not MOTORS[0].stands(46.0, 2500.0)
