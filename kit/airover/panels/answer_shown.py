"""An answer in pieces of HTML, as the panel places them."""

from airover.answer import CAUTIONS, Answer
from airover.choose import DOES_NOT_FIT, Candidate
from airover.figures import answer as figures
from airover.figures import drawing
from airover.message import Message
from airover.motor.work import HIGH, LOW
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports.answer import assumed
from airover.scope import suits
from airover.tables import answer as tables
from airover.texts import Writer

NEAREST = 5


def verdict(answer: Answer, writer: Writer) -> str:
    invented = "Invented scenario, makers, motors and prices." if answer.job.invented else ""
    below = " \N{MIDDLE DOT} ".join(filter(None, [answer.job.name, invented]))
    return style.verdict(answer.candidates[0].verdict, writer(answer.verdict), below)


def candidates(answer: Answer, writer: Writer) -> str:
    """The motors that fit, or the nearest where none does."""
    count = len(answer.fitting)
    title = f"The {NEAREST} nearest motors; none fits"
    if count:
        title = f"Motors that fit: {count} of {len(answer.candidates)}"
    rows = (count or NEAREST) + (answer.failed is not None)
    shown = tables.candidates(answer, writer).head(rows)
    shown = shown.drop(columns=writer("answer.table.decided"))
    hint = "Figures hold in 9 cases of 10; the winding's is the middle one, at the usual voltage."
    table = style.table(shown.reset_index(), "figures")
    return style.heading(title) + table + style.quiet(hint)


def needed(answer: Answer, writer: Writer) -> str:
    """What blade and site ask, in one row: expected, and 9 cases of 10."""
    table = tables.needed(answer, writer).rename_axis(None)
    first, mid, last = (table[name] for name in table.columns)
    shown = mid + " (" + first + " to " + last + ")"
    return style.heading("Blade and site ask for") + style.table(shown.to_frame().T, "figures")


def names(answer: Answer, writer: Writer) -> list[tuple[str, int]]:
    """Every motor, best first, as a choice: what is shown, and its place from 0."""
    return [
        (f"{at}. {c.case.motor.name}, {writer.amount(c.case.rating, 'power')}: {c.verdict}", at - 1)
        for at, c in enumerate(answer.candidates, 1)
    ]


def picture(candidate: Candidate, writer: Writer) -> Picture:
    case = candidate.case
    if case.row is None:
        words = writer("answer.torque_figure.not_simulated", motor=case.motor.name)
        return Picture(drawing.png(figures.torque(candidate, writer)), words)
    low, high = case.conditions.voltage[[LOW, HIGH]]
    words = (
        f"Torque against speed: {case.motor.name} at {low:.0f} to {high:.0f} V, and the blade. "
        f"They meet at {case.speed_rpm.mid:.0f} rpm."
    )
    return Picture(drawing.png(figures.torque(candidate, writer)), words)


def reasons(candidate: Candidate, writer: Writer) -> str:
    """What the motor needs, or why it is rejected."""
    title = "Why it does not fit" if candidate.verdict == DOES_NOT_FIT else "To do and to find out"
    open_points = candidate.reasons or [Message("answer.report.nothing_open")]
    return style.listed(title, map(writer, open_points))


def checks(candidate: Candidate, writer: Writer) -> str:
    title = f"Every check of the {candidate.case.motor.name}"
    return style.folded(title, style.table(tables.checks(candidate, writer)))


def cautions() -> str:
    return style.listed("Before anyone touches it", map(Writer().value, CAUTIONS))


def open_points(answer: Answer, writer: Writer) -> str:
    """What to find out, what is unusual, and what was assumed meanwhile."""
    return (
        style.listed("Please find out", map(writer, answer.asked))
        + style.listed("Unusual", map(writer.value, answer.warnings))
        + style.listed("Assumed, because the job does not say", assumed(answer.assumed, writer))
    )


def folded(answer: Answer, writer: Writer) -> str:
    """Why motors were rejected, and where every input comes from."""
    rejected = tables.rejected(answer, writer)
    why = style.folded(
        f"Why {len(rejected)} motors do not fit",
        style.table(tables.failures(answer, writer), "narrow"),
        style.table(rejected),
    )
    origin = style.folded("Where each input comes from", style.table(tables.inputs(answer, writer)))
    return (why if len(rejected) else "") + origin + style.quiet(writer.value(suits()))
