"""Evaluate the rules for fan load and heat.

Risks are expressed as fractions of the samples. With the usual limits, a risk above 10 % results in
a question, and a risk above 50 % in a failure. The risks are compared with those of the failed
motor under the same conditions. A motor is not rejected for lacking a margin that the failed motor
did not have either. The rules use only the design temperature. Verdicts do not depend on the
simulated year (`model.aging`), and a protector trip only results in a note.
"""

from operator import attrgetter

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Estimate, Message
from airover.model.simulation import HIGH, LOW, USUAL
from airover.model.sizing import RATINGS
from airover.physics import insulation
from airover.selection.check import (
    ADAPT,
    FAIL,
    MISSING,
    MODEL,
    NOTE,
    PASS,
    UNJUDGED,
    Rule,
    RuleResult,
)
from airover.selection.comparison import SAME_RATING, Comparison, winding_limit

NEAR_FLOW = 0.02  # shortfall below the airflow limit, as a fraction, that is only a note
EVEN = 0.50  # probability of a trip above which the failed motor is not used as evidence
NO_WORSE = 0.05  # maximum excess in probability that still counts as no worse than the failed motor


def shaft_power(at: Comparison) -> RuleResult:
    """Check that the rating covers the fan load in this air at least as well as the old rating."""
    load, rating, limits = at.conditions.shaft_power, at.rating, at.limits
    need = load * (1 + limits.power_margin)
    band = Band(*(np.full(len(rating), end) for end in Band.of(need)))
    risk = np.mean(need > rating[:, None], axis=1)
    carries = need <= rating[:, None]
    excused = np.zeros(len(rating), bool) if at.has_curve else at.same_size
    estimated = np.full(len(rating), at.nameplate.power is None and not at.has_curve)
    choices = [
        (~excused & (risk > limits.rejection_risk), "too_weak"),
        (estimated & _matched_by_amps(at), "by_amps"),
        (estimated, "estimated"),
        (~excused & (risk > limits.question_risk), "doubtful"),
    ]
    outcome = np.select(*zip(*choices), "carries").astype(object)
    # the message states the load; the check's limit is the load plus the margin
    facts = {"likely_power": (_likely(at), ""), "limit": (Band.of(load), "power")}
    passes = carries | excused[:, None]
    return RuleResult(outcome, rating, band, rating - band.mid, facts, passes)


def horsepower(at: Comparison) -> RuleResult:
    """Compare the horsepower with the old horsepower, and allow one size up as a fallback.

    If the old horsepower is unknown, it is replaced by the standard rating for the fan curve or the
    most likely horsepower for the old amps.
    """
    unread = np.full(len(at.size), at.nameplate.power is None)
    by_curve = unread & at.has_curve
    old = _covering(at.base_power) if by_curve.all() else at.base_power
    larger = at.rating > old / SAME_RATING
    choices = [
        (at.size > 1 + at.limits.larger_motor, "too_large"),
        (by_curve & ~larger, "by_curve"),
        (unread & ~by_curve, "estimated"),
        (larger, "one_size_up"),
        (at.size < SAME_RATING, "smaller"),
    ]
    outcome = np.select(*zip(*choices), "same").astype(object)
    limit = (1 + at.limits.larger_motor) * at.base_power
    facts = {"old": (old, "power"), "likely_power": (_likely(at), "")}
    return RuleResult(outcome, at.rating, limit, limit - at.rating, facts)


def _likely(at: Comparison) -> Message:
    """Return the most likely horsepower of the fan or of the old motor."""
    return Message("limit.about", value=Estimate(at.base_power, "power"))


def _covering(power: float) -> float:
    """Return the smallest standard rating [W] that covers ``power``, or ``power`` if none does."""
    return next((one.power for one in RATINGS if one.power >= SAME_RATING * power), power)


def _matched_by_amps(at: Comparison) -> np.ndarray:
    """Return True for motors that match by amps, as is usual in the trade.

    The full-load amps at the rating to use are compared.
    """
    if at.old_current is None:
        return np.zeros(len(at.motors), bool)
    share = np.round(at.rated_current / at.old_current - 1, 9)
    return np.abs(share) <= at.limits.full_load_amps


def torque(at: Comparison) -> RuleResult:
    """Compare the warm breakdown torque at the lowest rated voltage with the fan torque.

    A motor can fail this rule only if the job limits require a margin. Otherwise, the starting rule
    determines whether the motor can run at this voltage.
    """
    samples, margin = at.per_sample(at.simulation.reserve), at.limits.torque_margin
    reserve, least = Band.of(samples), 1 + margin
    short = "below_margin" if margin else "slows"
    outcome = np.select([~at.simulated, reserve.mid >= least], [UNJUDGED, "enough"], short)
    facts = {"volts": (at.columns.voltage_low, "voltage")}
    passes = samples >= least if margin else np.ones(samples.shape, bool)
    return RuleResult(outcome.astype(object), reserve, least, reserve.mid - least, facts, passes)


def speed(at: Comparison) -> RuleResult:
    """Require the same number of poles as the failed motor, for which the fan was designed."""
    new, old = at.columns.poles, at.poles
    facts = {"rpm": (at.columns.speed_rpm, "rpm")}
    if old is None:
        return RuleResult(at.all("old_unknown"), new, facts=facts)
    outcome = np.where(new == old, "same", "other").astype(object)
    return RuleResult(outcome, new, float(old), facts=facts)


def airflow(at: Comparison) -> RuleResult:
    """Check the airflow, which is proportional to speed for a given fan.

    The airflow must be at least a certain fraction of the airflow with the failed motor.
    """
    new, failed = at.per_sample(at.simulation.speed_ratio[USUAL]), at.simulation.failed
    ratio = new if failed is None else new / failed.speed_ratio[USUAL]
    found, least = Band.of(ratio), at.limits.airflow
    outcome = np.select(
        [~at.simulated, found.mid >= least, found.mid >= near_flow(least)],
        [UNJUDGED, "enough", "near"],
        "short",
    )
    margin = found.mid - least
    return RuleResult(outcome.astype(object), found, least, margin, passes=ratio >= least)


def near_flow(least: float) -> float:
    """Return the fraction of the airflow below which a motor is rejected."""
    return round(least - NEAR_FLOW, 9)


def ambient(at: Comparison) -> RuleResult:
    """Compare the air temperature at the motor with the ambient rating.

    The motor runs in the coil leaving air, which is hotter than outdoor air.
    """
    temp, rating, limits = at.conditions.temp_air, at.columns.ambient, at.limits
    count = len(rating)
    air = Band(*(np.full(count, end) for end in Band.of(temp)))
    risk = np.mean(temp > rating[:, None], axis=1)
    old = at.nameplate.ambient_rating
    known_weather = at.job.site.outdoor_temperature is not None
    like_old = np.zeros(count, bool)
    if old is not None and not at.died_of_heat:
        like_old = rating >= old.mid
    weather = np.full(count, known_weather)
    choices = [
        (np.isnan(rating), "unlisted"),
        (risk <= limits.question_risk, "cool"),
        (like_old & ((risk <= limits.rejection_risk) | ~weather), "like_old"),
        ((risk <= limits.rejection_risk) | ~weather, "may_exceed"),
        (like_old & (air.mid <= rating + limits.ambient_excess), "like_old_hot"),
    ]
    outcome = np.select(*zip(*choices), "too_hot").astype(object)
    carried = like_old & (
        (risk <= limits.rejection_risk) | (air.mid <= rating + limits.ambient_excess)
    )
    # a motor without an ambient rating does not pass in any sample
    passes = (temp <= rating[:, None]) | carried[:, None]
    return RuleResult(outcome, air, rating, rating - air.mid, {}, passes)


def winding_temperature(at: Comparison) -> RuleResult:
    """Compare the average winding temperature at the usual voltage with the standard limit."""
    temp, limit = at.per_sample(at.simulation.figures["temp_c"][USUAL]), at.winding_limit
    asked, rejected = at.limits.question_risk, at.limits.rejection_risk
    found = Band.of(temp)
    risk = np.mean(temp > limit[:, None], axis=1)
    like_old, passes = np.zeros(len(limit), bool), temp <= limit[:, None]
    if at.simulation.failed is not None and not at.died_of_heat:
        old, letter = at.simulation.failed.temp_winding[USUAL, 0], at.nameplate.insulation_class
        old_limit = limit
        if letter is not None:
            old_limit = np.full(len(limit), winding_limit(letter) - at.limits.winding_margin)
        old_risk = np.mean(old > old_limit[:, None], axis=1)
        trip = float(insulation.protector_limit(letter or "B"))
        like_old = (risk <= old_risk + NO_WORSE) & (np.mean(old > trip) <= EVEN)
        like_old &= ~np.isnan(limit)
        passes = passes | (like_old[:, None] & (old > old_limit[:, None]))
    passes = passes & ~np.isnan(limit)[:, None]
    letters = list(at.columns.insulation_class)
    choices = [
        (~at.simulated, UNJUDGED),
        (np.isnan(limit), "unlisted"),
        (risk <= asked, "cool"),
        (like_old & (risk <= rejected), "like_old"),
        (like_old, "like_old_hot"),
        (risk <= rejected, "may_exceed"),
    ]
    outcome = np.select(*zip(*choices), "too_hot").astype(object)
    # the message states the class limit, without the margin set in the job limits
    facts = {"letter": (letters, ""), "risk": (risk, "percent"),
             "limit": (at.columns.winding_limit, "temperature")}  # fmt: skip
    return RuleResult(outcome, found, limit, limit - found.mid, facts, passes)


def winding_as_voltage_moves(at: Comparison) -> RuleResult:
    """Compare the winding temperatures at low and high voltage with the limit.

    Low voltage increases the amps and high voltage saturates the iron, so either voltage can be the
    hotter case.
    """
    bands = [at.band("temp_c", voltage) for voltage in (LOW, USUAL, HIGH)]
    hottest = np.argmax([np.nan_to_num(band.mid, nan=-1.0) for band in bands], axis=0)
    found = Band(*(np.choose(hottest, ends) for ends in zip(*bands, strict=True)))
    letters = list(at.columns.insulation_class)
    limit = np.array(
        [np.nan if one is None else float(insulation.protector_limit(one)) for one in letters]
    )
    outcome = np.select([~at.simulated, np.isnan(limit)], [UNJUDGED, "unlisted"], "hottest")
    line = at.conditions.voltage
    facts = {"from": (float(line[LOW]), "voltage"), "to": (float(line[HIGH]), "voltage"),
             "letter": (letters, "")}  # fmt: skip
    return RuleResult(outcome.astype(object), found, limit, limit - found.mid, facts)


RULES = (
    Rule(
        "shaft power",
        shaft_power,
        {
            "carries": PASS,
            "by_amps": PASS,
            "doubtful": MISSING,
            "estimated": MISSING,
            "too_weak": FAIL,
        },
        source=MODEL,
        unit="W",
        kind="power",
        priority=2,
        limits=("power_margin", "question_risk", "rejection_risk"),
    ),
    Rule(
        "horsepower",
        horsepower,
        {
            "same": PASS,
            "smaller": ADAPT,
            "by_curve": PASS,
            "estimated": PASS,
            "one_size_up": ADAPT,
            "too_large": FAIL,
        },
        unit="W",
        kind="power",
        limits=("larger_motor",),
    ),
    Rule(
        "torque",
        torque,
        {"enough": PASS, "slows": NOTE, "below_margin": FAIL},
        simulated=True,
        source=MODEL,
        kind="times",
        limits=("torque_margin",),
    ),
    Rule(
        "speed",
        speed,
        {"same": PASS, "other": FAIL, "old_unknown": MISSING},
        needs=attrgetter(
            "nameplate.speed_rpm", "nameplate.poles", "nameplate.frequency", "site.frequency"
        ),
        unit="poles",
        kind="count",
        priority=1,
    ),
    Rule(
        "airflow",
        airflow,
        {"enough": PASS, "near": NOTE, "short": FAIL},
        simulated=True,
        kind="percent",
        limits=("airflow",),
    ),
    Rule(
        "ambient rating",
        ambient,
        {
            "cool": PASS,
            "like_old": NOTE,
            "may_exceed": MISSING,
            "like_old_hot": MISSING,
            "too_hot": FAIL,
            "unlisted": MISSING,
        },
        unit="degC",
        kind="air_temperature",
        priority=4,
        limits=("ambient_excess", "question_risk", "rejection_risk"),
    ),
    Rule(
        "winding temperature",
        winding_temperature,
        {
            "cool": PASS,
            "like_old": NOTE,
            "may_exceed": MISSING,
            "like_old_hot": MISSING,
            "too_hot": FAIL,
            "unlisted": MISSING,
        },
        simulated=True,
        source="temperature_rise",
        unit="degC",
        kind="temperature",
        priority=5,
        limits=("winding_margin", "question_risk", "rejection_risk"),
    ),
    Rule(
        "winding as voltage moves",
        winding_as_voltage_moves,
        {"hottest": NOTE, "unlisted": NOTE},
        simulated=True,
        source="overload",
        unit="degC",
        kind="temperature",
    ),
)
