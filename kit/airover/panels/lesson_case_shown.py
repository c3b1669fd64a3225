"""A case and the tries at it in pieces of HTML, as the panel places them."""

from html import escape

from airover.bands import Band
from airover.exercise.case import WELL, WORK, Graded, Lesson, Outcome
from airover.figures import case as figures
from airover.figures.drawing import png
from airover.kinds import KINDS
from airover.panels import style
from airover.panels.parts import Picture
from airover.proposal.offered import Option
from airover.proposal.pictures import across
from airover.reports.case import Told
from airover.units import convert

_GOOD, _SOME, _BAD = "fits", "fits with work", "does not fit"  # the bar of a verdict
_PLATE = (
    "font-family: monospace; font-size: 12.5px; line-height: 1.7; white-space: pre-wrap; "
    "border: 2px solid var(--ao-line); border-radius: 6px; padding: 8px 14px; margin: 4px 0 8px; "
    "background: var(--ao-wash);"
)


def opening(told: Told) -> str:
    """The head before anything was tried."""

    return style.verdict(_SOME, told("choose_first"), told("invented"))


def verdict(told: Told, outcome: Outcome) -> str:
    """The sentence on top, and what stands behind it."""
    bar = _BAD if outcome.failed else _GOOD if outcome.when == WELL else _SOME
    found = told.of(outcome)
    return style.verdict(bar, f"{outcome.case.motor.model}: {found.verdict}", found.decides)


def story(told: Told, lesson: Lesson) -> str:
    """The story, the plate as it looks, and the hints behind a title."""
    case = told.story(lesson)
    plate = "\n".join(map(escape, lesson.case.plate))
    words = escape(told("plate_words"), quote=True)
    hints = "".join(f"<li>{escape(hint)}</li>" for hint in case.hints)
    return (
        style.heading(case.title)
        + f"<p>{escape(case.story)}</p>"
        + style.heading(told("plate"))
        + f'<div style="{_PLATE}" role="img" aria-label="{words}">{plate}</div>'
        + style.folded(told("hints"), f"<ul>{hints}</ul>")
    )


def grades(told: Told, found: tuple[Graded, ...]) -> str:
    """How many readings are right."""
    right = sum(one.state in ("right", "left") for one in found)
    return style.quiet(told("score", right=right, all=len(found)))


def listed(told: Told, lesson: Lesson) -> str:
    """The short list as a table of what a catalogue says."""
    names = ("speed", "power", "voltage", "ambient_rating", "rotation", "shaft_position")
    heads = [told.texts("options.motor"), *(told(f"field.{name}") for name in names)]
    heads += [told("field.shaft_length"), told("field.mounting"), told("field.bearings")]
    return table(heads, [_row(told, motor) for motor in lesson.motors])


def _row(told: Told, motor) -> list[str]:
    said, texts, none = told.said, told.texts, told("none")
    rotation = motor.rotation_shaft_end
    seen = "" if rotation in (None, "reversible") else f" ({texts.word('shaft end')})"
    volts = (motor.voltage_low, motor.voltage_high)
    powers = {said.amount(watts, "power") for watts in (motor.ratings[0], motor.ratings[-1])}
    ambient, shaft = motor.ambient_rating, motor.shaft_length
    letter = motor.insulation_class or none
    return [
        motor.model,
        said.amount(motor.speed_rpm, "speed"),
        " - ".join(sorted(powers)),
        f"{said.range(*volts, 'voltage')}, {motor.frequency:g} Hz",
        f"{none if ambient is None else said.amount(ambient, 'temperature')}, {letter}",
        (texts.word(rotation) if rotation else none) + seen,
        texts.words(motor.shaft_positions) or none,
        none if shaft is None else said.amount(shaft, "shaft_length"),
        texts.words(motor.mounting) or none,
        texts.word(motor.bearings) if motor.bearings else none,
    ]


def happened(told: Told, outcome: Outcome, best: bool) -> str:
    """What happens and when, figures, the work, what is open, and the best choice."""
    found = told.of(outcome)
    parts = [style.listed(when, sentences) for when, sentences in found.happened]
    title = style.heading(told("happened")) if parts else ""
    lists = [("figures", found.figures), ("works", found.works), ("open", found.open)]
    lists += [("best_title", found.compared)] if best else []
    shown = "".join(style.listed(told(key), sentences) for key, sentences in lists)
    heads = [told(f"check_{name}") for name in ("name", "sentence", "state")]
    checks = style.folded(told("all_checks"), table(heads, found.checks))
    quiet = style.quiet(told("years_meaning")) + style.quiet(told("caution"))
    return title + "".join(parts) + shown + checks + quiet


def tries(told: Told, named: list[tuple[str, Outcome]], best: bool) -> str:
    """The tries side by side, the best choices below them."""
    if not named:
        return ""
    lesson = named[0][1].lesson
    rows = [
        _try(told, name or told("own_try", number=number), outcome)
        for number, (name, outcome) in enumerate(named, start=1)
    ]
    if best:
        chosen = (lesson.choose(c.case.motor.name, WORK) for c in lesson.best)
        rows += [_try(told, told("best"), outcome) for outcome in chosen]
    years = next((len(cost.flows) - 1 for cost in lesson.costs.values()), 0)
    keys = ("outcome", "when", "amps", "winding", "winding_years", "bearing_years")
    heads = [told("try"), told.texts("options.motor"), *map(told, keys), told("money", years=years)]
    return style.heading(told("tries")) + table(heads, rows) + style.quiet(told("not_saved"))


def _try(told: Told, name: str, outcome: Outcome) -> list[str]:
    found, none = told.of(outcome), told("none")
    values, lives, cost = found.values, outcome.lives, outcome.cost
    money = none if cost is None else told.said.money(cost.band, cost.currency, 2)
    return [
        name,
        values["motor"],
        found.word,
        found.moment,
        f"{values['amps']} ({values['plate']})",
        f"{values['winding']} ({values['allowed']})",
        *(told.years(lives.get(part)) for part in ("winding", "bearing")),
        money,
    ]


def picture(told: Told, outcome: Outcome, best: bool) -> Picture:
    """Amps with their band and the plate's line, temperatures with their limits, years."""
    beside = _beside(outcome) if best else None
    words = {
        name: told(f"picture.{name}")
        for name in ("amps", "volts_axis", "amps_axis", "line", "ladder", "years", "years_axis")
    }
    unit = (KINDS["temperature"].us if told.said.system == "US" else KINDS["temperature"].si)[0]
    words["temp_axis"] = told("picture.temp_axis", unit=told.said.set(unit))
    words["plate"] = told("picture.plate", amps=f"{outcome.case.rated_current:g}")
    figure = figures.choice(
        _sweep(outcome), _ladder(told, outcome, beside, unit), _years(told, outcome, beside), words
    )
    return Picture(png(figure, 100), _words(told, outcome, beside))


def _words(told: Told, outcome: Outcome, beside: Outcome | None) -> str:
    values = told.of(outcome).values
    if beside is None:
        return told("picture.words_alone", **values)
    return told("picture.words", **values, best=beside.case.motor.model)


def _beside(outcome: Outcome) -> Outcome | None:
    """The first best choice, where the student's own is none of them."""
    lesson = outcome.lesson
    if outcome.is_best or not lesson.best:
        return None
    return lesson.choose(lesson.best[0].case.motor.name, WORK)


def _sweep(outcome: Outcome) -> figures.Sweep:
    """Amps across voltage, with the draws of the answer."""
    case = outcome.case
    line = tuple(float(volts) for volts in case.conditions.voltage)
    voltage, current = across(case.job, Option("", outcome.candidate, None), line)
    return figures.Sweep(voltage, current, line, case.rated_current)


def _ladder(told: Told, outcome: Outcome, beside, unit) -> list[figures.Rung]:
    """The weather, the air and the windings, with what each is made for."""
    limits = {"air": (outcome.case.motor.ambient_rating, "rated"), "winding": _class(outcome)}
    rungs = [
        _rung(told, told(f"picture.{name}"), band, limits.get(name), outcome, unit)
        for name, band in outcome.ladder.items()
        if band is not None  # a motor that was not simulated has no winding temperature
    ]
    if beside is not None:
        name = f"{told('picture.winding')}, {told('best')}"
        band = beside.ladder["winding"]
        rungs.append(_rung(told, name, band, _class(beside), beside, unit))
    return rungs


def _class(outcome: Outcome) -> tuple[float | None, str]:
    return outcome.allowed, "allowed"


def _rung(told: Told, name, band: Band, limit, outcome: Outcome, unit) -> figures.Rung:
    shown = Band(*(float(convert(end, "temperature", unit)) for end in band))
    if limit is None or limit[0] is None:
        return figures.Rung(name, shown)
    letter = outcome.case.motor.insulation_class
    temp = told.said.amount(limit[0], "temperature")
    word = told(f"picture.{limit[1]}", temp=temp, letter=letter)
    return figures.Rung(name, shown, float(convert(limit[0], "temperature", unit)), word)


def _years(told: Told, outcome: Outcome, beside: Outcome | None) -> list[figures.LifeBar]:
    spans = []
    for part in ("winding", "bearing"):
        name = told(f"picture.{part}_part")
        band = outcome.lives.get(part)
        why = told("fact.unknown") if outcome.runs_up else told("picture.no_years")
        spans.append(figures.LifeBar(name, band, "" if band else why))
        if beside is not None and part in beside.lives:
            spans.append(figures.LifeBar(f"{name}, {told('best')}", beside.lives[part]))
    return spans


def table(heads, rows) -> str:
    """A small table; every text is escaped."""
    head = "".join(f"<th>{escape(one)}</th>" for one in heads)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(str(one))}</td>" for one in row) + "</tr>" for row in rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
