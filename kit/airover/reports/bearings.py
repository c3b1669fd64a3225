"""Ball and sleeve bearings side by side, in words: verdict, facts, warnings and notes.

Every function takes the Writer of the reader's language and units.
"""

import numpy as np

from airover.bands import Band
from airover.bearing_choice.advice import EITHER, NEITHER
from airover.bearing_choice.study import BALANCED, RARE, WORTH, BearingStudy, Prices
from airover.bearings.life import LONGEST, MEDIAN, TRANSPORT_SHOCK
from airover.bearings.place import TEMP_HIGH
from airover.message import Message, Quantity
from airover.texts import Writer


def verdict(study: BearingStudy, writer: Writer) -> str:
    """The recommendation with its reason."""
    advice = study.advice
    if advice.kind in (EITHER, NEITHER):
        return writer(advice.reason)
    kind = Message(f"bearings.kinds.{advice.kind}")
    return writer("bearings.take", kind=kind, reason=advice.reason)


def details(study: BearingStudy, writer: Writer) -> list[str]:
    """Warnings, then facts: what stands below the verdict."""
    return [*warnings(study, writer), *facts(study, writer)]


def facts(study: BearingStudy, writer: Writer) -> list[str]:
    """Hours, heat, loads, and what governs each kind."""
    blade, far = study.met.loads
    temps = (Quantity(float(np.median(one)), "temperature", 0) for one in study.met.temp)
    loads = (_force(load) for load in (blade.radial, blade.axial, far.radial, far.axial))
    names = "across", "along", "far_across", "far_along"
    return [
        compared(study, writer),
        writer("bearings.heat", **dict(zip(("blade", "far"), temps, strict=True))),
        writer("bearings.loads", **dict(zip(names, loads, strict=True))),
        *(writer(one.sentence) for one in study.suits.values()),
        *(writer(f"bearings.first.{kind}", ends=_ends(study, kind)) for kind in study.suits),
    ]


def compared(study: BearingStudy, writer: Writer) -> str:
    """Hours of both kinds and their ratio."""
    ball, sleeve = (middle_text(study.bands[kind], writer) for kind in ("ball", "sleeve"))
    low, mid, high = (f"{float(f'{end:.2g}'):g}" for end in study.ratio)
    who = share_text(study.asked.reliability, writer)
    return writer(
        "bearings.compared", who=who, ball=ball, sleeve=sleeve, times=mid, low=low, high=high
    )


def warnings(study: BearingStudy, writer: Writer) -> list[str]:
    """Facts against one kind or against the estimate."""
    told = []
    if study.forbidden:
        allowed = [Message(f"bearings.shaft.{one}") for one in study.place.motor.shaft_positions]
        told.append(Message("bearings.warning.position", allowed=allowed))
    if study.ball.skids:
        load, least = _force(study.ball.load), _force(study.ball.load_least)
        told.append(Message("bearings.warning.skids", load=load, least=least))
    if study.overloaded:
        told.append(Message("bearings.warning.bronze"))
    if study.without_film > 0:
        told.append(Message("bearings.warning.film", share=_share(study.without_film)))
    if np.median(np.maximum(*study.met.temp)) >= TEMP_HIGH:
        hottest = Quantity(TEMP_HIGH, "temperature", 0)
        told.append(Message("bearings.warning.hot", hottest=hottest))
    return [writer(one) for one in told]


def balancing(study: BearingStudy, writer: Writer) -> str:
    """Hours that balancing the fan gains."""
    gains, grade = study.gains, f"{BALANCED:g}"
    if max(gains.values()) < WORTH:
        return writer("bearings.balanced", grade=grade)
    shares = {kind: _share(gain) for kind, gain in gains.items()}
    return writer("bearings.unbalanced", grade=grade, **shares)


def notes(study: BearingStudy, writer: Writer) -> list[str]:
    """Facts beside hours that decide; common practice unless a rule is named."""
    return [
        writer("bearings.note.noise"),
        _price(study.prices, writer),
        writer("bearings.note.oil"),
        writer(
            "bearings.note.transport",
            shock=round(TRANSPORT_SHOCK),
            safety=f"{study.ball.safety:.1f}",
        ),
        writer("bearings.note.standstill"),
        writer("bearings.note.electricity"),
    ]


def share_text(reliability: float, writer: Writer) -> str:
    """The share of motors that reach a life: "Half of such motors"."""
    if reliability == MEDIAN:
        return writer("bearings.half")
    return writer("bearings.share", share=100 * reliability)


def fan_state(grade: float, lost: float, writer: Writer) -> str:
    """A fan by its balance ``grade`` [mm/s] and the mass that it ``lost`` [kg] at its tip."""
    key = "bearings.fan_lost" if lost else "bearings.fan_state"
    return writer(key, grade=float(grade), grams=round(1000 * lost))


def hours_text(band: Band, writer: Writer) -> str:
    """A 90 % range of hours, two figures: "1,500-3,800 h"; no figure above LONGEST."""
    if band.low >= LONGEST:
        return writer("bearings.hours.over", hours=f"{LONGEST:,.0f}")
    low, high = _two_figures(band.low), _two_figures(band.high)
    if band.high >= LONGEST:
        return writer("bearings.hours.and_more", low=low)
    if low == high:
        return writer("bearings.hours.alike", hours=low)
    return writer("bearings.hours.range", low=low, high=high)


def middle_text(band: Band, writer: Writer) -> str:
    """The median with its 90 % range: "2,000 h (1,500-3,800)"."""
    if band.mid >= LONGEST:
        return hours_text(band, writer)
    low, mid, high = map(_two_figures, band)
    key = "median_and_more" if band.high >= LONGEST else "median"
    return writer(f"bearings.hours.{key}", low=low, mid=mid, high=high)


def _two_figures(hours: float) -> str:
    return f"{float(f'{hours:.2g}'):,.0f}"


def _price(price: Prices, writer: Writer) -> str:
    if price.ball is None or price.sleeve is None:
        return writer("bearings.note.price_unknown")
    more = price.ball - price.sleeve
    return writer(
        f"bearings.note.price_{'more' if more >= 0 else 'less'}",
        ball=round(price.ball), sleeve=round(price.sleeve), more=round(abs(more)),
        currency=price.currency,
    )  # fmt: skip


def _ends(study: BearingStudy, kind: str) -> list[Message]:
    """First ends of a kind with their shares of the samples; the rare left out."""
    found = {"ball": study.ball, "sleeve": study.sleeve}[kind].first
    return [
        Message("bearings.first.share", end=Message(f"bearings.end.{end}"), share=_share(share))
        for end, share in sorted(found.items(), key=lambda one: -one[1])
        if share >= RARE
    ]


def _force(samples) -> Quantity:
    return Quantity(float(np.median(samples)), "force")


def _share(share: float) -> Quantity:
    return Quantity(share, "share", 0)
