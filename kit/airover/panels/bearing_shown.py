"""Ball and sleeve bearings side by side, in pieces of HTML as their panel places them."""

import numpy as np

from airover.answer import CAUTIONS
from airover.bearing_choice.study import Study, hours_text, lambdas, share_text
from airover.bearings.suits import EXPECTED, SEASON_OVER_DESIGN, Suits
from airover.panels import style
from airover.panels.parts import Picture
from airover.tables import bearings as tables_bearing

_BARS = {"clear": "fits", "same": "fits with work", "short": "does not fit"}
AT_THE_BLADE = "Balance or straighten a blade off the unit; replace one that is cracked."


def verdict(study: Study, invented: bool) -> str:
    told = [*study.warnings, *study.facts, "Invented scenario, motors and prices." * invented]
    return style.verdict(_BARS[study.state], study.verdict, " ".join(filter(None, told)))


def picture(study: Study, png: bytes) -> Picture:
    ball, sleeve = (hours_text(study.bands[kind]) for kind in ("ball", "sleeve"))
    words = (
        f"Bars of hours: {study.governing[0]} and {study.governing[1]} end their bearing first in "
        f"most samples. Below, hours against outdoor air: ball {ball}, sleeve {sleeve} at the line."
    )
    return Picture(png, words)


def film(study: Study, png: bytes) -> Picture:
    running = study.film.flooded
    highest = float(np.median(running.pressure_highest)) / 1000
    words = (
        "Pressure of the oil film around the shaft: it rises to "
        f"{highest:.0f} kPa before the narrowest gap and is gone behind it."
    )
    return Picture(png, words)


def side_by_side(study: Study) -> str:
    share = share_text(study.asked.reliability)
    hint = (
        f"{share} reach these hours, ball and sleeve alike. The range (90 %) is what is not known "
        "about this motor and place; how single motors of one make differ is in the share (Weibull "
        "slope 1.5 for fatigue, 2.3 for grease, 2 for oil and wear). Sleeve: a screening estimate; "
        "wear is known within a factor of a hundred. Hours are without pause at this heat; a year "
        f"of service counts {SEASON_OVER_DESIGN:.0%} of its {study.asked.hours_a_year:,.0f} "
        "running hours, since most are cooler."
    )
    return style.table(tables_bearing.side_by_side(study), "figures") + style.quiet(hint)


def motors(study: Study, found: list[tuple[str, Suits | None]]) -> str:
    hint = (
        "Each motor's own bearings on the job as it is, not as the sliders are set: median life in "
        f"years of service with its 90 % range. Under {EXPECTED:.0f} years is called a shorter life."
    )
    return style.table(tables_bearing.motors(found)) + style.quiet(hint)


def positions(study: Study) -> str:
    hint = (
        "Across: a horizontal shaft carries its weight there, a vertical one only unbalance. "
        "Along: on a vertical shaft the lower bearing stops rotor and blade, and the air pushes "
        "the blade against its discharge."
    )
    return style.table(tables_bearing.positions(study), "figures") + style.quiet(hint)


def balancing(study: Study) -> str:
    hint = f"{study.bought} A gram lost at the tip outweighs a grade or two."
    return style.table(tables_bearing.balancing(study), "figures") + style.quiet(hint)


def film_page(study: Study, png: bytes) -> str:
    flooded, starved = lambdas(study.film)
    hint = (
        "The median film in the blade's sleeve bearing. Its narrowest gap is "
        f"{flooded.low:.0f} to {flooded.high:.0f} times the roughness with oil enough, "
        f"{starved.low:.0f} to {starved.high:.0f} times when starved; above 3 nothing touches."
    )
    return film(study, png).html() + style.quiet(hint)


def notes(study: Study) -> str:
    return style.listed("Beside hours", study.notes)


def cautions() -> str:
    return style.listed("Before anyone touches it", (*CAUTIONS, AT_THE_BLADE))
