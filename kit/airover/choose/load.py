"""Checks of the blade's load and of the heat: power, torque, speed, air, winding, bearings."""

from airover.bands import Band
from airover.choose.case import Case
from airover.choose.check import FAIL, MISSING, MODEL, NOTE, PASS, TRADE, Check
from airover.motor.conditions import completed
from airover.physics import insulation

LEAST_RESERVE = 1.25  # breakdown torque over the fan's, at low voltage and hot
LEAST_FLOW = 0.95
HOURS_A_YEAR = 2000.0  # running, for saying hours in years
BEARING_SOURCES = {
    "ball": "ISO 281:2007 and grease life after Booser, from memory",
    "sleeve": "no standard: Archard's wear and oil that ages, ranges of common practice",
}


def shaft_power(case: Case) -> Check:
    """The rating carries what the blade takes in this air."""
    need, rating = case.needed_power, case.rating
    facts = {"source": MODEL, "found": rating, "limit": need}
    facts |= {"margin": rating - need.mid, "unit": "W"}
    compared = f"{case.shown(rating, 'power')} ({rating:.0f} W); the blade takes {need.mid:.0f} W"
    inferred = case.job.nameplate.power is None and case.job.blade.curve is None
    if rating < need.low or (rating < need.mid and not inferred):
        return Check("shaft power", FAIL, f"Rated {compared} in this air: too weak.", **facts)
    if rating < need.high and inferred:
        why = (
            f"Rated {compared}, somewhere from {need.low:.0f} to {need.high:.0f} W since the old "
            "rating cannot be read: find the unit's data or measure the old motor's watts."
        )
        return Check("shaft power", MISSING, why, **facts)
    return Check("shaft power", PASS, f"Rated {compared} in this air.", **facts)


def torque(case: Case) -> Check:
    """Breakdown torque over the fan's, warm and on the lowest voltage, at least LEAST_RESERVE."""
    reserve = Band.of(case.worked.reserve[case.number])
    volts = case.worked.conditions.voltage[0]
    facts = {"source": TRADE, "found": reserve, "limit": LEAST_RESERVE}
    facts |= {"margin": reserve.low - LEAST_RESERVE}
    why = f"At {volts:.0f} V its highest torque is {reserve.mid:.1f} times the fan's"
    state = PASS if reserve.low >= LEAST_RESERVE else FAIL
    return Check("torque", state, why + ("." if state == PASS else ": too little."), **facts)


def speed(case: Case) -> Check:
    """As many poles as the old motor: the blade was made for that speed."""
    old, new = completed(case.job).pole_count, case.motor.poles
    rpm = case.speed_rpm
    facts = {"source": TRADE, "found": new, "limit": old, "unit": "poles"}
    if new == old:
        why = f"{new} poles like the old one; on this blade {rpm.mid:.0f} rpm."
        return Check("speed", PASS, why, **facts)
    why = f"{new} poles against {old}: another speed, so another airflow and load."
    return Check("speed", FAIL, why, **facts)


def airflow(case: Case) -> Check:
    """At least LEAST_FLOW of the old airflow, since airflow goes with the speed."""
    share = case.band("speed_ratio")
    facts = {"source": MODEL, "found": share, "limit": LEAST_FLOW, "margin": share.mid - LEAST_FLOW}
    flow = case.band("flow_m3s")
    why = f"{share.mid:.0%} of the old airflow, about {case.shown(flow, 'flow')}"
    if share.mid >= LEAST_FLOW:
        return Check("airflow", PASS, f"{why}.", **facts)
    return Check("airflow", FAIL, f"{why}: the coil runs short of air.", **facts)


def ambient(case: Case) -> Check:
    """The motor stands in the coil's leaving air, not in the weather."""
    air, rating = Band.of(case.worked.conditions.temp_air), case.motor.ambient_rating
    hot = case.shown(air, "air_temperature")
    if rating is None:
        why = f"The catalogue does not say its ambient rating; the air at the motor reaches {hot}."
        return Check("ambient rating", MISSING, why, TRADE, air, unit="degC")
    rated = case.shown(rating, "air_temperature")
    facts = {"source": TRADE, "found": air, "limit": rating}
    facts |= {"margin": rating - air.mid, "unit": "degC"}
    if air.high <= rating:
        why = f"The coil's leaving air reaches {hot}; the motor is rated for {rated}."
        return Check("ambient rating", PASS, why, **facts)
    if air.mid > rating:
        why = f"The coil's leaving air reaches {hot}, above its rated {rated}."
        return Check("ambient rating", FAIL, why, **facts)
    hottest = case.shown(air.high, "air_temperature")
    why = f"The air at the motor may reach {hottest}, rated is {rated}: measure it on a hot day."
    return Check("ambient rating", MISSING, why, **facts)


def winding(case: Case) -> Check:
    """Average winding temperature against the standard's rise over 40 degC."""
    found, insulating = case.winding, case.motor.insulation_class
    name = "winding temperature"
    hot = case.shown(found, "temperature")
    if insulating is None:
        why = f"The catalogue does not say its insulation class; the winding reaches {hot}."
        return Check(name, MISSING, why, MODEL, found, unit="degC")
    limit = winding_limit(insulating)
    facts = {"source": insulation.RISE_SOURCE, "found": found, "limit": limit}
    facts |= {"margin": limit - found.mid, "unit": "degC"}
    allowed = f"class {insulating} allows {case.shown(limit, 'temperature')} on average"
    if found.high <= limit:
        return Check(name, PASS, f"The winding reaches {hot}; {allowed}.", **facts)
    if found.mid > limit:
        return Check(name, FAIL, f"The winding would reach {hot}; {allowed}.", **facts)
    hottest = case.shown(found.high, "temperature")
    why = f"{hot}, at worst {hottest}; {allowed}: measure its rise by resistance when installed."
    return Check(name, NOTE, why, **facts)


def winding_over_the_day(case: Case) -> Check:
    """Low voltage costs amps, high voltage saturates the iron: both can be the hotter end."""
    found = case.hottest_winding
    line = case.worked.conditions.voltage
    hot = case.shown(found, "temperature")
    why = f"Between {line[0]:.0f} and {line[-1]:.0f} V the winding reaches {hot} at the hotter end"
    limit = None
    if case.motor.insulation_class is not None:
        limit = float(insulation.protector_limit(case.motor.insulation_class))
        trip = case.shown(limit, "temperature")
        why += f"; a class {case.motor.insulation_class} protector may let it reach {trip}"
    margin = None if limit is None else limit - found.mid
    source = insulation.PROTECTOR_SOURCE
    return Check("winding as voltage moves", NOTE, why + ".", source, found, limit, margin, "degC")


def winding_limit(insulation_class: str) -> float:
    """Highest average winding temperature [degC] of a class in any ambient up to its rating."""
    return insulation.RISE_AMBIENT + float(insulation.rise_limit(insulation_class))


def winding_hours(case: Case) -> Check:
    """Hours of insulation at the design heat: a note, it ranks motors."""
    hours = case.winding_life.hours
    source = "IEC 60216, halving per 8 to 10 K, from memory"
    if hours is None:
        why = "Without an insulation class no life can be worked out."
        return Check("winding life", NOTE, why, source)
    return Check("winding life", NOTE, f"{_years(hours)}.", source, hours, unit="h")


def bearing_hours(case: Case) -> Check:
    """A note and never more: what a life is worth, the reader decides."""
    life = case.bearing_life
    source = BEARING_SOURCES.get(life.kind, TRADE)
    kind = f"{life.kind} bearing".capitalize()
    if life.hours is None:
        return Check("bearing life", NOTE, f"{kind}: {life.governed_by}.", source)
    why = f"{kind}, {life.governed_by} governs: {_years(life.hours)}."
    return Check("bearing life", NOTE, why, source, life.hours, unit="h")


def _years(hours: Band) -> str:
    low, high = (f"{h / HOURS_A_YEAR:.2g}" for h in (hours.low, hours.high))
    return (
        f"{hours.low:,.0f} to {hours.high:,.0f} h at the design heat without pause; at "
        f"{HOURS_A_YEAR:.0f} h a year {low} to {high} years, more since most hours are cooler"
    )


CHECKS = (
    shaft_power, torque, speed, airflow, ambient, winding, winding_over_the_day, winding_hours,
    bearing_hours,
)  # fmt: skip
