"""An answer in pieces of HTML, as the panel places them."""

from airover.answer import CAUTIONS, Answer
from airover.choose import DOES_NOT_FIT, Candidate
from airover.figures import answer as figures
from airover.figures import drawing
from airover.motor.work import HIGH, LOW
from airover.panels import style
from airover.panels.parts import Picture
from airover.scope import suits
from airover.tables import answer as tables
from airover.texts import Writer

NEAREST = 5


def verdict(answer: Answer) -> str:
    invented = "Invented scenario, makers, motors and prices." if answer.job.invented else ""
    below = " \N{MIDDLE DOT} ".join(filter(None, [answer.job.name, invented]))
    return style.verdict(answer.candidates[0].verdict, answer.verdict, below)


def candidates(answer: Answer) -> str:
    """The motors that fit, or the nearest where none does."""
    count = len(answer.fitting)
    title = f"The {NEAREST} nearest motors; none fits"
    if count:
        title = f"Motors that fit: {count} of {len(answer.candidates)}"
    rows = (count or NEAREST) + (answer.failed is not None)
    shown = tables.candidates(answer).head(rows).drop(columns="decided by")
    hint = "Figures hold in 9 cases of 10; the winding's is the middle one, at the usual voltage."
    table = style.table(shown.reset_index(), "figures")
    return style.heading(title) + table + style.quiet(hint)


def needed(answer: Answer) -> str:
    """What blade and site ask, in one row: expected, and 9 cases of 10."""
    table = tables.needed(answer).rename_axis(None)
    shown = table["expected"] + " (" + table["from"] + " to " + table["to"] + ")"
    return style.heading("Blade and site ask for") + style.table(shown.to_frame().T, "figures")


def names(answer: Answer) -> list[tuple[str, int]]:
    """Every motor, best first, as a choice: what is shown, and its place from 0."""
    return [
        (f"{at + 1}. {c.case.motor.name}, {c.case.shown(c.case.rating, 'power')}: {c.verdict}", at)
        for at, c in enumerate(answer.candidates)
    ]


def picture(candidate: Candidate) -> Picture:
    case = candidate.case
    if case.row is None:
        words = f"{case.motor.name} was not simulated on this job."
        return Picture(drawing.png(figures.torque(candidate)), words)
    low, high = case.conditions.voltage[[LOW, HIGH]]
    words = (
        f"Torque against speed: {case.motor.name} at {low:.0f} to {high:.0f} V, and the blade. "
        f"They meet at {case.speed_rpm.mid:.0f} rpm."
    )
    return Picture(drawing.png(figures.torque(candidate)), words)


def reasons(candidate: Candidate) -> str:
    """What the motor needs, or why it is rejected."""
    title = "Why it does not fit" if candidate.verdict == DOES_NOT_FIT else "To do and to find out"
    open_points = candidate.reasons or ("Nothing to adapt, nothing left open.",)
    return style.listed(title, open_points)


def checks(candidate: Candidate) -> str:
    title = f"Every check of the {candidate.case.motor.name}"
    return style.folded(title, style.table(tables.checks(candidate)))


def cautions() -> str:
    return style.listed("Before anyone touches it", CAUTIONS)


def open_points(answer: Answer) -> str:
    """What to find out, what is unusual, and what was assumed meanwhile."""
    assumed = [f"{one.name}: {one.value} ({one.why})" for one in answer.assumed]
    return (
        style.listed("Please find out", answer.asked)
        + style.listed("Unusual", map(Writer("en"), answer.warnings))
        + style.listed("Assumed, because the job does not say", assumed)
    )


def folded(answer: Answer) -> str:
    """Why motors were rejected, and where every input comes from."""
    rejected = tables.rejected(answer)
    why = style.folded(
        f"Why {len(rejected)} motors do not fit",
        style.table(tables.failures(answer), "narrow"),
        style.table(rejected),
    )
    origin = style.folded("Where each input comes from", style.table(tables.inputs(answer)))
    return (why if len(rejected) else "") + origin + style.quiet(Writer("en")(suits()))
