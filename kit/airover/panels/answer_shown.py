"""An answer in pieces of HTML, as the panel places them."""

from airover.answer import CAUTIONS, Answer
from airover.bands import Band
from airover.choose import DOES_NOT_FIT, Candidate
from airover.figures import answer as figures
from airover.figures import drawing
from airover.message import Message, Quantity
from airover.motor.work import HIGH, LOW
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports.answer import assumed
from airover.scope import suits
from airover.tables import answer as tables
from airover.texts import Writer

NEAREST = 5


def verdict(answer: Answer, writer: Writer) -> str:
    invented = writer("panel.invented") if answer.job.invented else ""
    below = " \N{MIDDLE DOT} ".join(filter(None, [answer.job.name, invented]))
    return style.verdict(answer.candidates[0].verdict, writer(answer.verdict), below)


def candidates(answer: Answer, writer: Writer) -> str:
    """The motors that fit, or the nearest where none does."""
    count = len(answer.fitting)
    title = writer("panel.answer.nearest", count=NEAREST)
    if count:
        title = writer("panel.answer.fitting", count=count, among=len(answer.candidates))
    rows = (count or NEAREST) + (answer.failed is not None)
    shown = tables.candidates(answer, writer).head(rows)
    shown = shown.drop(columns=writer("answer.table.decided"))
    table = style.table(shown.reset_index(), "figures")
    return style.heading(title) + table + style.quiet(writer("panel.answer.bands"))


def needed(answer: Answer, writer: Writer) -> str:
    """What blade and site ask, in one row: expected, and 9 cases of 10."""
    table = tables.needed(answer, writer).rename_axis(None)
    first, mid, last = (table[name] for name in table.columns)
    shown = mid + " (" + first + " - " + last + ")"
    return style.heading(writer("panel.answer.needed")) + style.table(shown.to_frame().T, "figures")


def names(answer: Answer, writer: Writer) -> list[tuple[str, int]]:
    """Every motor, best first, as a choice: what is shown, and its place from 0."""
    return [(f"{at}. {named(c, writer)}", at - 1) for at, c in enumerate(answer.candidates, 1)]


def named(one: Candidate, writer: Writer) -> str:
    """A motor of a choice, with how it fits."""
    rating = writer.amount(one.case.rating, "power")
    return f"{one.case.motor.name}, {rating}: {writer(f'page.fit.{one.verdict}')}"


def picture(candidate: Candidate, writer: Writer) -> Picture:
    case = candidate.case
    if case.row is None:
        words = writer("answer.torque_figure.not_simulated", motor=case.motor.name)
        return Picture(drawing.png(figures.torque(candidate, writer)), words)
    low, high = case.conditions.voltage[[LOW, HIGH]]
    words = writer(
        "panel.answer.torque",
        motor=case.motor.name,
        volts=Quantity(Band(low, low, high), "voltage"),
        speed=Quantity(case.speed_rpm.mid, "speed"),
    )
    return Picture(drawing.png(figures.torque(candidate, writer)), words)


def reasons(candidate: Candidate, writer: Writer) -> str:
    """What the motor needs, or why it is rejected."""
    out = candidate.verdict == DOES_NOT_FIT
    title = writer("panel.answer.why_not" if out else "panel.answer.to_do")
    open_points = candidate.reasons or [Message("answer.report.nothing_open")]
    return style.listed(title, map(writer, open_points))


def checks(candidate: Candidate, writer: Writer) -> str:
    title = writer("page.best.checks", motor=candidate.case.motor.name)
    return style.folded(title, style.table(tables.checks(candidate, writer)))


def cautions(writer: Writer) -> str:
    return style.listed(writer("panel.before_touching"), map(writer.value, CAUTIONS))


def open_points(answer: Answer, writer: Writer) -> str:
    """What to find out, what is unusual, and what was assumed meanwhile."""
    return (
        style.listed(writer("panel.answer.find_out"), map(writer, answer.asked))
        + style.listed(writer("page.best.unusual"), map(writer.value, answer.warnings))
        + style.listed(writer("page.best.assumed"), assumed(answer.assumed, writer))
    )


def folded(answer: Answer, writer: Writer) -> str:
    """Why motors were rejected, and where every input comes from."""
    rejected = tables.rejected(answer, writer)
    why = style.folded(
        writer("panel.answer.rejected", count=len(rejected)),
        style.table(tables.failures(answer, writer), "narrow"),
        style.table(rejected),
    )
    origin = style.folded(writer("panel.answer.inputs"), style.table(tables.inputs(answer, writer)))
    return (why if len(rejected) else "") + origin + style.quiet(writer.value(suits()))
