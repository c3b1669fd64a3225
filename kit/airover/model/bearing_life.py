"""Life and suitability of the ball or sleeve bearings in an installed motor.

The life of ball bearings is the shorter of fatigue life (ISO 281, with lubrication and
contamination) and grease life (Booser). Each life is calculated for the pair of bearings, using a
Weibull distribution. The grease life governs in nearly all cases. Booser's grease life is
multiplied by a factor of 1 to 4 for slow, sealed bearings. A load below the minimum is flagged and
raised to the minimum.

The life of sleeve bearings is a screening estimate, because there is no standard method. The life
ends when the first of three failure modes occurs. Oil life is halved for every 8 to 12 K of
temperature increase. Bore wear occurs at each start and stop, or continuously if the film is too
thin. The thrust washer of the locating bearing wears continuously (Archard). Wear coefficients are
known only to within a factor of 100 (20 for the washer). Field experience is used to limit their
range, because at the upper end of the published range, vertical-shaft motors would fail within a
season. A reference life from the user's experience determines the oil life and the maximum wear
rate. The oil is assumed to be at the temperature of the bearing node in the thermal network. Oil
loss from the lower bearing of a vertical shaft is not modeled. Dimensions, oil, wear and number of
starts are based on engineering judgment; no bearings were tested.

There are two types of uncertainty. The samples represent unknown properties of the motor model and
its installation (grease, oil, wear, temperature), and give a 90 % range *of the median life*. In
addition, bearings of the same model in the same installation fail at different times. This scatter
is represented by a Weibull distribution, and *reliability* is the fraction of bearings that reach a
given life. Ball and sleeve bearings are always compared at the same reliability. Bearing life does
not affect the result of any check.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError, Range, check, either
from airover.core.intervals import Band, median, uniform
from airover.core.message import Message
from airover.model.aging import LONGEST_HOURS, Life
from airover.model.bearing_duty import TEMP_HIGH, BearingDuty, Stand
from airover.model.conditions import HOURS_A_YEAR
from airover.model.simulation import MotorOnFan
from airover.physics import ball_bearing, bearing_loads, oil, sleeve_running
from airover.physics.bearing_loads import BearingLoad
from airover.physics.sleeve_running import FRICTION_WASHER, Bounds, Sleeve, Washer, washer

MEDIAN, L10 = 0.5, 0.9  # reliability: 50 % and 90 % of the motors last longer
RELIABILITY = Range(MEDIAN, 0.9995, "")

# Weibull slopes. Fatigue: ISO 281:2007. Grease: L10 is 0.44 of L50, common practice.
FATIGUE_SLOPE, GREASE_SLOPE = ball_bearing.FATIGUE_SLOPE, ball_bearing.GREASE_SLOPE
# Oil aging and wear of sleeve bearings: engineering judgment. The wear-out slope for one model in a
# given installation is between 1 (mixed field data) and 3 (life tests of small fans). L10 is 0.39
# of L50.
SLEEVE_SLOPE = 2.0

# Ball bearings. Common practice or engineering judgment; no published source.
TRANSPORT_SHOCK = 20.0  # multiples of gravity, for a box dropped from carrying height
# Light load, sealed. A vertical shaft halves the life (bearing manufacturers' rule).
HALF_LIFE_SUBTRACTION = {"horizontal": (0.0, 0.5), "vertical": (1.0, 1.5)}
# Booser's equation applies to bearings near their speed limit. Fan motors run at a tenth
# of this speed or less, and modern greases last longer: from 1.4 times (manufacturer's curve for
# wide-range greases at 90 degC) to three times or more (another manufacturer's L10 diagram at low
# speed, cited from memory).
SLOW_AND_SEALED = (1.0, 4.0)
F0 = 13.0  # ISO 281 geometry factor for small deep-groove bearings, usually 12 to 13.5
GREASE_40, GREASE_100 = 100e-6, 11e-6  # m2/s, base oil of a typical polyurea motor grease
CLEANLINESS = "normal cleanliness"  # sealed and greased for life

# Sleeve bearings. Common practice or engineering judgment; no published source.
LENGTH = (1.2, 1.8)  # bore length divided by shaft diameter
CLEARANCE = (8e-6, 20e-6)  # m, radial clearance
ROUGHNESS_SHAFT, ROUGHNESS_BORE = (0.15e-6, 0.4e-6), (0.3e-6, 0.8e-6)  # m
OIL_40, OIL_100 = (32e-6, 68e-6), (5.4e-6, 8.7e-6)  # m2/s, turbine oils VG 32 to VG 68
STARTS = (1.0, 6.0)  # per hour of running
RUN_UP, COASTING = 3.0, (10.0, 40.0)  # s, acceleration to full speed, and coasting time
# m, inner diameter minus shaft diameter; ring width
WASHER_INSIDE, WASHER_WIDTH = 0.002, (0.003, 0.006)
WASHER_ALLOWANCE = (0.2e-3, 0.6e-3)  # m, allowable wear before the rotor is out of position
BORE_ALLOWANCE = (20e-6, 60e-6)  # m, allowable wear before the bearing rattles
# The oil life and the upper limit of washer wear agree with the roughly ten years seen in the field
# for outdoor units with vertical shafts. A wear coefficient of 1e-15 would cause failure within a
# season. With a horizontal shaft, less oil is lost, and the life is up to twice as long.
# h, and the corresponding oil temperature [degC]
OIL_LIFE, TEMP_OIL_LIFE = (10_000.0, 40_000.0), 80.0
WEAR_WASHER = (1e-17, 2e-16)  # m2/N
OIL_HALVING = (8.0, 12.0)  # K
OIL_KEPT = (0.0, 1.0)  # number of doublings of oil life on a horizontal shaft
COLD_OIL = 2000e-6  # m2/s; a wick feeds almost no oil this thick, and its drag is a third of the
# starting torque of a capacitor-run motor
SCATTER = (0.7, 1.4)  # scatter of individual motors around a user's reference life
CONDUCTANCE = (0.5, 2.0)  # W/K from the oil film to the housing
FRICTION = sum(FRICTION_WASHER) / 2
ENDS = ("oil", "wear of the bore", "wear of the thrust washer")
SCREENING = "screening estimate, no standard"


KINDS = ("ball", "sleeve")
SUITS, SHORTER, NOT_HERE = "suits", "shorter life", "not in this position"

# Grease and oil age half as fast over a season as at design temperature, because they are about 10
# K cooler on average (AHRI 210/240, cooling bins, cited from memory, not verified).
SEASON_OVER_DESIGN = 0.5
# Expected median motor life: 8 to 15 years in the field. Common practice; no published source.
EXPECTED = 8.0  # years
LEAST_SHARE = 0.05  # quantile of washer load used to reject the shaft position
MOST_YEARS = 40  # longer lives are shown as "over"
ALONE = 3  # motors, see `BearingLives`


def bearing_life(simulation: MotorOnFan, number: int, seed: int = 0) -> Life:
    """Return the median life [h] of a motor's bearings as a 90 % range.

    Half of the bearing pairs last longer than the median life. For sleeve bearings, the life is a
    screening estimate. Returns None if the bearing type or size is not known.
    """
    motor = simulation.motors[number]
    if motor.bearings == "sleeve":
        return _sleeve_lives(simulation, [number], seed)[0]
    size = ball_bearing.DEEP_GROOVE_02.get(round((motor.bearing_bore or 0) * 1000))
    if motor.bearings is None or size is None:
        return Life(None, motor.bearings or "unknown", "bearing size unknown")
    stand = Stand.of(simulation, number, seed)
    found = ball(stand, stand.met(), size)
    return Life(Band.of(found.hours), motor.bearings, found.governed_by)


class BearingLives(dict):
    """Lives of the bearings of simulated motors by their number, as `bearing_life` returns them.

    The first few motors asked for are calculated alone, because a page shows only the best. The
    others follow together.
    """

    def __init__(self, simulation: MotorOnFan):
        super().__init__()
        self.simulation = simulation

    def __missing__(self, number: int) -> Life:
        motors = self.simulation.motors
        others = [
            at for at, motor in enumerate(motors) if motor.bearings == "sleeve" and at not in self
        ]
        if len(self) < ALONE or number not in others:
            self[number] = bearing_life(self.simulation, number)
        else:
            self.update(zip(others, _sleeve_lives(self.simulation, others), strict=True))
        return self[number]


def _sleeve_lives(simulation: MotorOnFan, numbers: list[int], seed: int = 0) -> list[Life]:
    """Return the lives of the sleeve bearings of several motors."""
    stand = Stand.of(simulation, numbers, seed)
    found = sleeve(stand, stand.met())
    bands = zip(*(end.tolist() for end in Band.of(found.hours)), strict=True)
    governs = (SleeveLife(*row).governed_by for row in zip(*found, strict=True))
    return [
        Life(Band(*band), "sleeve", f"{one} ({SCREENING})")
        for band, one in zip(bands, governs, strict=True)
    ]


class Ball(NamedTuple):
    """Life of a pair of ball bearings, as arrays of samples.

    Attributes
    ----------
    basic, fatigue, grease : ndarray
        Life [h] of the pair at the requested reliability: from load alone, from fatigue with
        lubrication and contamination, and from grease aging.
    load : ndarray
        Equivalent load P [N] of the fan-end bearing.
    load_least : float
        Minimum load [N] of the fan-end bearing that prevents skidding.
    kappa : ndarray
        Viscosity ratio of the fan-end bearing.
    safety : ndarray
        Static safety factor S0 of one bearing under a transport shock.
    """

    basic: np.ndarray
    fatigue: np.ndarray
    grease: np.ndarray
    load: np.ndarray
    load_least: float
    kappa: np.ndarray
    safety: float

    @property
    def hours(self):
        """Fatigue life or grease life [h], whichever is shorter, limited to LONGEST."""
        return np.minimum(np.minimum(self.fatigue, self.grease), LONGEST_HOURS)

    @property
    def first(self) -> dict[str, float]:
        """Fraction of samples in which each failure mode occurs first."""
        grease = float(np.mean(self.grease <= self.fatigue))
        return {"grease": grease, "fatigue": 1 - grease}

    @property
    def governed_by(self) -> str:
        """Failure mode that occurs first in most samples."""
        return max(self.first, key=self.first.get)

    @property
    def skids(self) -> bool:
        """True if the usual load is below the minimum load."""
        return bool(np.median(self.load) < self.load_least)


def ball(stand: Stand, met: BearingDuty, size, reliability=MEDIAN, cleanliness=CLEANLINESS) -> Ball:
    """Return the life of a pair of ball bearings under given operating conditions.

    The two bearings fail independently. The Weibull slopes are 1.5 for fatigue and 2.29 for grease.

    Parameters
    ----------
    stand : Stand
        Installed motor.
    met : BearingDuty
        Bearing duty.
    size
        Dimensions and load ratings (`ball_bearing.BearingSize`).
    reliability : optional
        Reliability, 0.5 (median) to 0.9995.
    cleanliness : optional
        Cleanliness of the grease, a key in `ball_bearing.CLEANLINESS`.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    both = [fatigue(load, temp, met.speed_rpm, size, cleanliness) for load, temp in met.each]
    a1 = fatigue_over_l10(reliability)
    basic, modified = (
        a1 * ball_bearing.system_life(np.stack(lives, axis=-1), ball_bearing.FATIGUE_SLOPE)
        for lives in zip(*((one.basic, one.modified) for one in both), strict=True)
    )
    worst = bearing_loads.shock_force(stand.blade_mass + stand.rotor_mass, TRANSPORT_SHOCK)
    at_rest = ball_bearing.static_load(median(worst), 0.0)
    return Ball(
        basic=basic,
        fatigue=modified,
        grease=_grease(stand, met, reliability),
        load=both[0].alone,
        load_least=float(ball_bearing.minimum_load(size.load_rating)),
        kappa=both[0].kappa,
        safety=float(ball_bearing.static_safety(size.load_rating_static, at_rest)),
    )


def size_of(motor, shaft_diameter: float) -> ball_bearing.BearingSize:
    """Return the ball bearing size of a motor.

    The size is taken from the catalog. If the catalog does not list a size, the next larger size in
    series 02 for ``shaft_diameter`` [m] is used.
    """
    known = ball_bearing.DEEP_GROOVE_02.get(round((motor.bearing_bore or 0) * 1000))
    larger = [size for size in ball_bearing.DEEP_GROOVE_02.values() if size.bore > shaft_diameter]
    return known or min(larger, default=ball_bearing.DEEP_GROOVE_02[25])


class Reference(NamedTuple):
    """Life of similar motors in this installation, from the user's experience.

    Attributes
    ----------
    hours : float
        Life [h].
    temp : float
        Bearing temperature [degC].
    """

    hours: float
    temp: float


class SleeveLife(NamedTuple):
    """Life of a pair of sleeve bearings, as arrays of samples.

    Attributes
    ----------
    oil, bore, washer : ndarray
        Life [h] at the requested reliability, as limited by oil aging, bore wear and thrust washer
        wear. The life is LONGEST if no surfaces rub.
    pv_bore, pv_washer : ndarray
        Ratio of pressure times speed to the limit for porous bronze, for the bearing with the
        higher value.
    film_rpm : ndarray
        Minimum speed [rpm] for a full oil film in the fan-end bearing.
    """

    oil: np.ndarray
    bore: np.ndarray
    washer: np.ndarray
    pv_bore: np.ndarray
    pv_washer: np.ndarray
    film_rpm: np.ndarray

    @property
    def hours(self):
        """Life [h] until the first of the three failure modes occurs.

        The failure modes are independent, so the combined life of two failure modes with equal
        lives is shorter than either life. The same rule applies to two ball bearings.
        """
        lives = np.stack([self.oil, self.bore, self.washer], axis=-1)
        return np.minimum(ball_bearing.system_life(lives, SLEEVE_SLOPE), LONGEST_HOURS)

    @property
    def first(self) -> dict[str, float]:
        """Fraction of samples in which each failure mode occurs first."""
        which = np.argmin([self.oil, self.bore, self.washer], axis=0)
        return {name: float(np.mean(which == at)) for at, name in enumerate(ENDS)}

    @property
    def governed_by(self) -> str:
        """Failure mode that occurs first in most samples."""
        return max(self.first, key=self.first.get)


def sleeve(
    stand: Stand, met: BearingDuty, reference: Reference | None = None, reliability=MEDIAN
) -> SleeveLife:
    """Return the life of a pair of sleeve bearings under given operating conditions.

    The oil is at bearing temperature. A reference life determines the oil life and an upper limit
    for the wear rates of the bore and the washer in this installation.

    Parameters
    ----------
    stand : Stand
        Installed motor.
    met : BearingDuty
        Bearing duty.
    reference : Reference or None, optional
        Median life from the user's experience, or None.
    reliability : optional
        Reliability, 0.5 (median) to 0.9995.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    load, temp = met.both
    bore, ring = _rubbed(stand, load, temp, met.speed_rpm)
    wear_bore, wear_washer = _wear(stand, reference)
    allowed = _allowances(stand)
    of_oil = _oil(stand, met, temp, reference)
    of_bore = sleeve_running.wear_life(allowed[0], wear_bore, bore.pressure, bore.rubbing)
    of_washer = sleeve_running.wear_life(
        allowed[1], wear_washer, ring.pressure_mean, ring.sliding_speed
    )
    scatter = over_median(reliability, SLEEVE_SLOPE)
    ends = of_oil, of_bore, of_washer
    return SleeveLife(
        *(np.minimum(scatter * lives.min(axis=0), LONGEST_HOURS) for lives in ends),
        pv_bore=bore.pv.max(axis=0) / sleeve_running.PV_SLEEVE,
        pv_washer=ring.pv.max(axis=0) / sleeve_running.PV_WASHER,
        film_rpm=bore.film_rpm[0],
    )


def bore_of(stand: Stand) -> Sleeve:
    """Return samples of typical sleeve bearings for the motor."""
    z, diameter = stand.deviates, stand.shaft_diameter
    return Sleeve(
        diameter=diameter,
        length=diameter * uniform(LENGTH, z["length"]),
        clearance=uniform(CLEARANCE, z["clearance"]),
        roughness_shaft=uniform(ROUGHNESS_SHAFT, z["roughness"]),
        roughness_bore=uniform(ROUGHNESS_BORE, z["roughness"]),
        viscosity_40=uniform(OIL_40, z["oil"]),
        viscosity_100=uniform(OIL_100, z["oil"]),
    )


def film(stand: Stand, met: BearingDuty) -> Bounds:
    """Return the oil film in the fan-end bearing for two oil supply conditions.

    The oil temperature is limited to 150 degC. A few samples with hot air and a bent blade would
    otherwise exceed it.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    load, temp = met.each[0]
    housing = np.minimum(temp, TEMP_HIGH)
    conductance = uniform(CONDUCTANCE, stand.deviates["housing"])
    return sleeve_running.bounds(
        bore_of(stand), load.radial, met.speed_rpm, housing, conductance, capped=True
    )


def thick_when_cold(stand: Stand, temp: float) -> bool:
    """Return True if the oil viscosity exceeds COLD_OIL at ``temp`` [degC]."""
    bore = bore_of(stand)
    return bool(
        np.median(oil.oil_viscosity(temp, bore.viscosity_40, bore.viscosity_100)) > COLD_OIL
    )


def over_median(reliability, slope):
    """Return the ratio of the life at a given reliability to the median life.

    The ratio is (ln(1/R) / ln 2)^(1/slope), with a ``reliability`` R from 0.5 to 0.9995
    (two-parameter Weibull distribution).

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(over_median(0.9, GREASE_SLOPE)), 2)
    0.44
    """
    reliability = check("reliability", reliability, RELIABILITY)
    return (np.log(1 / reliability) / np.log(2)) ** (1 / slope)


def fatigue_over_l10(reliability):
    """Return the ratio of fatigue life at a given reliability to L10 life (a1 in ISO 281:2007).

    The ``reliability`` R is 0.5 to 0.9995. The table in the standard begins at 90 %. Below 90 %,
    the same three-parameter Weibull distribution is used in closed form: 0.95 (ln(1/R) /
    ln(1/0.9))^(1/1.5) + 0.05.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(fatigue_over_l10(0.5)), 2), float(fatigue_over_l10(0.95))
    (3.39, 0.64)
    """
    reliability = float(check("reliability", reliability, RELIABILITY))
    if reliability >= L10:
        return ball_bearing.reliability_factor(reliability)
    return 0.95 * (np.log(1 / reliability) / np.log(1 / L10)) ** (1 / FATIGUE_SLOPE) + 0.05


class Suits(NamedTuple):
    """Suitability of a bearing type in an installation.

    Attributes
    ----------
    kind : str
        Bearing type.
    code : str
        Verdict: SUITS, SHORTER or NOT_HERE.
    median, l10 : Band
        90 % ranges of the running time [h] at design temperature that 50 % and 90 % of the motors
        reach.
    years : Band
        90 % range of the median life [years of service].
    governed_by : str
        Failure mode that occurs first in most samples.
    reason : Message
        Reason for the verdict.
    """

    kind: str
    code: str
    median: Band
    l10: Band
    years: Band
    governed_by: str
    reason: Message

    @property
    def sentence(self) -> Message:
        """Sentence with the verdict, the years of service and the reason."""
        key = f"bearings.{self.kind}.{self.code}"
        return Message(key, years=median_years(self.years), reason=self.reason)


def median_years(years: Band) -> Message:
    """Return the median life in years and its 90 % range, such as "9 years (4 to 21)"."""
    low, mid, high = (
        Message("bearings.years.under_one") if end < 0.5
        else Message("bearings.years.over", most=MOST_YEARS) if end > MOST_YEARS
        else round(end)
        for end in years
    )  # fmt: skip
    key = "one" if years.mid < 1.5 else "many"
    if low == high:
        return Message(f"bearings.years.just_{key}", years=mid)
    return Message(f"bearings.years.{key}", years=mid, low=low, high=high)


def motor_suits(simulation: MotorOnFan, number: int) -> Suits | None:
    """Return the suitability of the bearings in motor ``number`` of a simulation.

    Returns None if the catalog does not list the bearing type.
    """
    motor = simulation.motors[number]
    if motor.bearings is None:
        return None
    stand = Stand.of(simulation, number)
    size = size_of(motor, stand.shaft_diameter)
    return suits(motor.bearings, stand, size, motor.shaft_positions)


def suits(kind: str, stand: Stand, size, allowed=(), hours_a_year=HOURS_A_YEAR) -> Suits:
    """Return the suitability of a bearing type for an installed motor.

    Parameters
    ----------
    kind : str
        Bearing type: "ball" or "sleeve".
    stand : Stand
        Installed motor.
    size
        Dimensions and load ratings (`ball_bearing.BearingSize`).
    allowed : optional
        Shaft positions that the catalog allows. An empty sequence means that the catalog does not
        list any.
    hours_a_year : optional
        Running time per year [h].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    if kind not in KINDS:
        raise InputError("bearings", repr(kind), either(KINDS))
    met = stand.met()
    median, l10 = (
        ball(stand, met, size, share) if kind == "ball" else sleeve(stand, met, None, share)
        for share in (MEDIAN, L10)
    )
    return judged(kind, met, median, l10, allowed, hours_a_year)


def judged(
    kind: str, met: BearingDuty, median, l10, allowed=(), hours_a_year=HOURS_A_YEAR
) -> Suits:
    """Return the suitability of a bearing type from calculated lives.

    Parameters
    ----------
    kind : str
        Bearing type: "ball" or "sleeve".
    met : BearingDuty
        Bearing duty from which the lives were calculated.
    median, l10
        Lives at 50 % and 90 % reliability, as two `Ball` or two `SleeveLife` objects.
    allowed, hours_a_year : optional
        Allowed shaft positions and running hours per year, as in `suits`.
    """
    hours = Band.of(median.hours)
    years = hours.scaled(1 / (SEASON_OVER_DESIGN * hours_a_year))
    code, why, times = SUITS, "lasts", 0.0
    if years.mid < EXPECTED:
        code, why = SHORTER, median.governed_by
    if kind == "sleeve":
        times = float(np.median(median.pv_washer))
        if times > 1:
            code, why = SHORTER, "washer"
        if np.quantile(median.pv_washer, LEAST_SHARE) > 1:
            code = NOT_HERE
        if np.mean(median.film_rpm > met.speed_rpm) > MEDIAN:
            code, why = NOT_HERE, "film"
    if allowed and met.shaft_position not in allowed:
        code, why = NOT_HERE, "position"
    reason = Message(
        f"bearings.why.{why}",
        kind=Message(f"bearings.kinds.{kind}"),
        shaft=Message(f"bearings.shaft.{met.shaft_position}"),
        times=round(times, 1),
    )
    return Suits(kind, code, hours, Band.of(l10.hours), years, median.governed_by, reason)


class Fatigue(NamedTuple):
    """Fatigue life of one bearing at 90 % reliability, as arrays of samples.

    Attributes
    ----------
    alone : ndarray
        Equivalent load [N] from the applied forces alone.
    load : ndarray
        Equivalent load [N], but not less than the minimum load.
    kappa : ndarray
        Viscosity ratio.
    contamination : ndarray
        Contamination factor eC.
    a_iso : ndarray
        Life factor aISO.
    basic, modified : ndarray
        Life L10 and L10mh [h].
    """

    alone: np.ndarray
    load: np.ndarray
    kappa: np.ndarray
    contamination: np.ndarray
    a_iso: np.ndarray
    basic: np.ndarray
    modified: np.ndarray


def fatigue(meets: BearingLoad, temp, speed_rpm, size, cleanliness=CLEANLINESS) -> Fatigue:
    """Return the L10 life [h] of one bearing per ISO 281.

    Parameters
    ----------
    meets : BearingLoad
        Bearing load.
    temp
        Temperature [degC] of the bearing.
    speed_rpm
        Speed [rpm].
    size
        Dimensions and load ratings (`ball_bearing.BearingSize`).
    cleanliness : optional
        Cleanliness of the grease, a key in `ball_bearing.CLEANLINESS`.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    static = size.load_rating_static
    alone = ball_bearing.equivalent_load(meets.radial, meets.axial, static, F0)
    load = np.maximum(alone, ball_bearing.minimum_load(size.load_rating))
    pitch = size.diameter_pitch
    kappa = ball_bearing.viscosity_ratio(temp, GREASE_40, GREASE_100, speed_rpm, pitch)
    kappa = np.maximum(kappa, ball_bearing.KAPPA.low)
    clean = ball_bearing.contamination_factor(kappa, pitch, cleanliness)
    a_iso = ball_bearing.a_iso(kappa, clean * ball_bearing.fatigue_load_limit(static) / load)
    basic = ball_bearing.rating_life(size.load_rating, load, speed_rpm)
    basic, modified = np.broadcast_arrays(basic, basic * a_iso)
    return Fatigue(alone, load, kappa, clean, a_iso, basic, modified)


class Grease(NamedTuple):
    """Grease life of both bearings, as arrays of samples.

    Attributes
    ----------
    halvings : ndarray
        Number of times the life is halved to account for load, seals and a vertical shaft.
    longer : ndarray
        Life factor for slow, sealed bearings.
    lives : list[ndarray]
        Median life [h] of the fan-end bearing and of the opposite-end bearing.
    """

    halvings: np.ndarray
    longer: np.ndarray
    lives: list[np.ndarray]


def grease(stand: Stand, met: BearingDuty) -> Grease:
    """Return the median grease life of both bearings. May raise InputError."""
    key = "vertical" if met.vertical else "horizontal"
    halvings = uniform(HALF_LIFE_SUBTRACTION[key], stand.deviates["grease"])
    longer = np.exp(uniform(np.log(SLOW_AND_SEALED), stand.deviates["seal"]))
    lives = [longer * ball_bearing.grease_life(temp, halvings) for temp in met.temp]
    return Grease(halvings, longer, lives)


def _grease(stand: Stand, met: BearingDuty, reliability):
    """Return the grease life [h] of both bearings at a given ``reliability``."""
    lives = np.stack(grease(stand, met).lives, axis=-1)
    together = ball_bearing.system_life(lives, GREASE_SLOPE)
    return over_median(reliability, GREASE_SLOPE) * together


class _Bore(NamedTuple):
    """Rubbing contact in the bearing bores.

    Attributes
    ----------
    pressure : ndarray
        Pressure [Pa].
    rubbing : ndarray
        Sliding speed averaged over the running time [m/s].
    pv : ndarray
        Pressure times speed [Pa m/s].
    film_rpm : ndarray
        Minimum speed [rpm] for a full film.
    """

    pressure: np.ndarray
    rubbing: np.ndarray
    pv: np.ndarray
    film_rpm: np.ndarray


def _rubbed(stand: Stand, load: BearingLoad, temp, speed_rpm) -> tuple[_Bore, Washer]:
    """Return the rubbing contact in the bores and at the washers.

    The first axis of the results has length 2, for the fan-end and opposite-end bearings. Half of
    the samples have enough oil and half are starved, because the oil supply of a wick-fed bearing
    is not known.
    """
    z, bearing = stand.deviates, bore_of(stand)
    flooded, starved = (
        sleeve_running.speed_at_lambda(bearing, load.radial, sleeve_running.FULL_FILM, temp, start)
        for start in (0.0, sleeve_running.STARVED)
    )
    film_rpm = np.where(z["feed"] < 0, flooded, starved)
    turns = sum(
        sleeve_running.revolutions_below(np.minimum(film_rpm, speed_rpm), speed_rpm, ramp)
        for ramp in (RUN_UP, uniform(COASTING, z["coasting"]))
    )
    # Above the speed for lambda = 3, the surfaces do not rub.
    ratio = sleeve_running.FULL_FILM * speed_rpm / np.maximum(film_rpm, 1e-9)
    starts = uniform(STARTS, z["starts"])
    bore = _Bore(
        load.radial / (bearing.length * bearing.diameter),
        sleeve_running.rubbing(bearing.diameter, speed_rpm, ratio, turns, starts),
        sleeve_running.sleeve_pv(load.radial, speed_rpm, bearing.diameter, bearing.length),
        film_rpm,
    )
    inside = stand.shaft_diameter + WASHER_INSIDE
    outside = inside + 2 * uniform(WASHER_WIDTH, z["washer size"])
    return bore, washer(load.axial, speed_rpm, inside, outside, FRICTION)


def _allowances(stand: Stand):
    """Return the allowable wear depths [m] of the bore and the washer."""
    z = stand.deviates
    return uniform(BORE_ALLOWANCE, z["bore"]), uniform(WASHER_ALLOWANCE, z["washer"])


def _wear(stand: Stand, reference: Reference | None):
    """Return the wear coefficients [m2/N] of the bore and the washer.

    A reference life caps the wear rate under the job conditions at the rate that gives this life.
    """
    usual = [
        np.exp(uniform(np.log(ends), stand.deviates["wear"]))
        for ends in (sleeve_running.WEAR_COEFFICIENT, WEAR_WASHER)
    ]
    if reference is None:
        return usual
    met = stand.met()
    bore, ring = _rubbed(stand, *met.both, met.speed_rpm)
    meets = (bore.pressure, bore.rubbing), (ring.pressure_mean, ring.sliding_speed)
    seen = (
        sleeve_running.wear_coefficient_seen(
            reference.hours, allowance, np.maximum(pressure, 1.0), np.maximum(speed, 1e-9)
        ).min(axis=0)
        for allowance, (pressure, speed) in zip(_allowances(stand), meets, strict=True)
    )
    return [np.minimum(drawn, most) for drawn, most in zip(usual, seen, strict=True)]


def _oil(stand: Stand, met: BearingDuty, temp, reference: Reference | None):
    """Return the oil life [h]. A reference life applies to the shaft position of the job."""
    z = stand.deviates
    if reference is None:
        hours, at = uniform(OIL_LIFE, z["oil life"]), TEMP_OIL_LIFE
        from_vertical = True
    else:
        hours, at = reference.hours * uniform(SCATTER, z["oil life"]), reference.temp
        from_vertical = stand.shaft_position != "horizontal"
    doublings = (int(from_vertical) - int(met.vertical)) * uniform(OIL_KEPT, z["kept"])
    hours = np.maximum(hours * 2.0**doublings, 1.0)
    return sleeve_running.oil_life(temp, hours, at, uniform(OIL_HALVING, z["halving"]))
