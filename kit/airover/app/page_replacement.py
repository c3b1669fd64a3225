"""The first step: which motor replaces the failed one."""

from collections import Counter

from airover.app import style
from airover.app.page_view import View, shown
from airover.app.reader import Reader
from airover.business.proposal import open_checks, shown_checks
from airover.selection.answer import Answer
from airover.selection.check import FAIL
from airover.selection.comparison import winding_limit
from airover.selection.rules import DOES_NOT_FIT, FITS, FITS_WITH_WORK, Candidate

BEST = 3
_KEYS = {FITS: "verdict.fits", FITS_WITH_WORK: "verdict.work"}


class ReplacementView(View):
    """The verdict, the three best motors with what is to be done, and why the others do not fit."""

    step = "replacement"

    def build(self):
        self.parts = {name: shown() for name in ("verdict", "best", "checks", "others", "assumed")}
        return list(self.parts.values())

    def compute(self) -> Answer:
        return self.page.answer

    def draw(self, reader: Reader) -> None:
        for name, place in self.parts.items():
            place.value = globals()[f"_{name}"](self.result, reader)


def sentence(found: Answer, reader: Reader) -> str:
    """The verdict in one sentence."""
    best = found.candidates[0]
    if best.verdict == DOES_NOT_FIT:
        return reader("verdict.none", count=len(found.candidates))
    rating = reader.said.amount(best.case.rating, "power")
    return reader(_KEYS[best.verdict], motor=best.case.motor.name, rating=rating)


def _verdict(found: Answer, reader: Reader) -> str:
    words = Counter(one.verdict for one in found.candidates)
    counts = reader(
        "verdict.counts", count=len(found.candidates), fits=words[FITS],
        work=words[FITS_WITH_WORK], out=words[DOES_NOT_FIT],
    )  # fmt: skip
    word, below = found.candidates[0].verdict, [counts]
    if word == DOES_NOT_FIT:
        most = _failing(found)[0][0]
        below.insert(0, reader("verdict.most", check=reader.said.named("check", most)))
    below += [_asks(found, reader), _invented(found, reader)]
    return style.verdict(word, sentence(found, reader), *below)


def _invented(found: Answer, reader: Reader) -> str:
    return reader("invented") if found.job.invented else ""


def _asks(found: Answer, reader: Reader) -> str:
    needed, said = found.needed, reader.said
    return reader(
        "best.asks",
        power=said.amount(needed["shaft_power_w"], "shaft_power"),
        speed=said.amount(needed["speed_rpm"].mid, "speed"),
        air=said.amount(needed["temp_at_motor_c"], "air_temperature"),
    )


def _best(found: Answer, reader: Reader) -> str:
    fitting = found.fitting[:BEST]
    title = reader("best.title" if fitting else "best.nearest")
    cards = (_card(one, reader) for one in fitting or found.candidates[:BEST])
    return style.text(title, "h2") + "".join(cards) + style.text(reader("best.bands"), "p", "soft")


def _card(one: Candidate, reader: Reader) -> str:
    case, said = one.case, reader.said
    motor = case.motor
    rating = said.amount(case.rating, "power")
    name = style.text(f"{motor.name}, {rating}", "h3")
    limit = ""
    if motor.insulation_class is not None:
        most = said.amount(winding_limit(motor.insulation_class), "temperature")
        limit = f"; {reader('best.limit', limit=most)}"
    price = reader("best.no_price")
    if motor.price is not None:
        price = f"{motor.price:,.0f} {motor.currency}"
    rows = [(reader("best.plate"), said.amount(case.rated_current, "current"))]
    if case.row is not None:  # a motor of another supply, speed or size is not simulated
        rows.insert(0, (reader("best.amps"), said.amount(case.current, "current")))
        rows.append((reader("best.speed"), said.amount(case.speed_rpm.mid, "speed")))
        rows.append((reader("best.winding"), said.amount(case.winding, "temperature") + limit))
    facts = style.facts([*rows, (reader("best.price"), price)])
    word = style.text(reader(f"fit.{one.verdict}"), "span", "word")
    return style.card(word, name, facts, _to_do(one, reader))


def _to_do(one: Candidate, reader: Reader) -> str:
    """What is to be adapted and found out, or on what it fails."""
    if one.verdict == DOES_NOT_FIT:
        return style.listed(
            reader("best.out"), (reader.said(check.why) for check in one.having(FAIL))
        )
    to_do = [reader.said(check.why) for check in open_checks(one.checks)]
    nothing = style.text(reader("best.nothing"))
    return style.listed(reader("best.adapt"), to_do) or nothing


def _checks(found: Answer, reader: Reader) -> str:
    best = found.candidates[0]
    heads = [reader(f"best.{key}") for key in ("check", "sentence", "result")]
    rows = [reader.said.check(check) for check in shown_checks(best.checks)]
    title = reader("best.checks", motor=best.case.motor.name)
    return style.folded(title, style.rows(heads, rows))


def _failing(found: Answer) -> list[tuple[str, int]]:
    """How many motors fail on each check, the most common first."""
    names = Counter(check.name for one in found.candidates for check in one.having(FAIL))
    return sorted(names.items(), key=lambda one: (-one[1], one[0]))


def _others(found: Answer, reader: Reader) -> str:
    failing = _failing(found)
    if not failing:
        return ""
    heads = [reader("best.check"), reader("best.motors")]
    rows = [(reader.said.named("check", name), str(count)) for name, count in failing]
    more = style.text(reader("best.more"), "p", "soft")
    return style.folded(reader("best.others"), style.rows(heads, rows) + more)


def _assumed(found: Answer, reader: Reader) -> str:
    unusual = [reader.said(one) for one in found.warnings]
    rows = [reader.said.input(one)[:2] for one in found.assumed]
    inside = style.facts(rows)
    folded = style.folded(reader("best.assumed"), inside) if rows else ""
    return style.listed(reader("best.unusual"), unusual) + folded
