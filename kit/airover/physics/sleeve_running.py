"""Oil temperature, film, friction, wear and oil life of a running sleeve bearing.

Friction heat leaves the oil through a thermal conductance to the shaft and housing. In a
pressure-fed bearing, the oil also carries heat away, but almost no fresh oil flows through a
wick-fed or porous bearing. A wick or a porous wall supplies less oil than the film can accept.
`bounds` therefore calculates two cases. In the optimistic case, the film begins at the widest gap.
In the pessimistic case, only the last 30 % of the converging gap is filled (common practice; no
published source). The model assumes a steady load, parallel axes and a round bore. A load that
rotates with the shaft, such as unbalance, is represented by its magnitude.

A thrust washer is a flat ring that supports a vertical shaft. Its faces are parallel, so no oil
wedge forms. The washer runs in boundary lubrication at all speeds with a constant friction
coefficient.

There is no standard for the life of a wick-fed or porous sleeve bearing. Life is estimated with two
models, one for wear where surfaces touch (Archard) and one for oil aging. The shorter life governs.
Wear coefficients are known only to within a factor of 10 to 100. The calculated hours are therefore
only an order-of-magnitude estimate unless the life of motors in similar service is known. Pass
uncertain values as arrays of samples. Dirt, misalignment and oil creep cause many bearing failures
and are not included.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.errors import RATIO, SPEED_RPM, TEMP_BEARING, InputError, Range, check
from airover.core.message import Message
from airover.physics import oil
from airover.physics.sleeve_bearing import ECCENTRICITY, film_read, film_under_load

LOAD = Range(0.0, 1e5, "N")
DIAMETER_SHAFT = Range(0.002, 0.1, "m")
DIAMETER_WASHER = Range(0.002, 0.2, "m")
SIZE = Range(0.001, 0.2, "m")
CLEARANCE = Range(1e-6, 3e-4, "m")
ROUGHNESS = Range(1e-9, 5e-6, "m")
TEMP_HOUSING = Range(-40.0, 140.0, "degC")
CONDUCTANCE = Range(0.01, 1000.0, "W/K")
FRICTION_BOUNDARY = Range(0.0, 0.5, "")
FRICTION_COEFFICIENT = Range(0.0, 1.0, "")
LAMBDA = Range(0.0, np.inf, "")
LAMBDA_SOUGHT = Range(0.01, 100.0, "")
TIME = Range(0.0, 3600.0, "s")
LIMIT_RPM = Range(0.0, 1e6, "rpm")
WEAR_RANGE = Range(1e-20, 1e-10, "m2/N")
PRESSURE_MEAN = Range(0.0, 1e9, "Pa")
DISTANCE = Range(0.0, 1e12, "m")
ALLOWANCE = Range(1e-7, 2e-3, "m")
RUBBING_SPEED = Range(0.0, 100.0, "m/s")
REVOLUTIONS = Range(0.0, 1e6, "")
STARTS = Range(0.0, 3600.0, "")
LIFE = Range(1.0, 1e6, "h")
INTERVAL = Range(1.0, 50.0, "K")

NO_LOAD = 1e-9  # N, used for zero load
HOUR = 3600.0  # s
STEPS, TOLERANCE = 100, 1e-6  # most steps, and K, for the iteration that finds the oil temperature
BOUNDARY, FULL_FILM = 1.0, 3.0  # lambda at which asperities carry the full load and no load
WORDS = np.array(["boundary", "mixed", "full film"])
# Common practice; no published source.
STARVED = 0.7 * np.pi  # rad: start angle of the film in a starved bearing
FRICTION_BRONZE = 0.1  # oiled bronze on steel, boundary lubrication, 0.05 to 0.15
FRICTION_WASHER = (0.05, 0.15)  # oiled steel on bronze, polymer or laminate
WEAR_COEFFICIENT = (1e-17, 1e-15)  # m2/N, worn volume / (load x distance), oiled bronze on steel
OIL_HALVING = 10.0  # K
# Porous bronze, cited from memory, not verified. The limit for a thrust face is one fifth of this.
PV_SLEEVE = 1.75e6  # Pa m/s
PV_WASHER = PV_SLEEVE / 5


@dataclass(frozen=True)
class Sleeve:
    """Sleeve bearing with its oil. Arrays are broadcast against each other.

    Attributes
    ----------
    diameter : float
        Shaft diameter [m].
    length : float
        Bore length [m], 0.2 to 2 diameters.
    clearance : float
        Radial clearance [m], half of the diametral clearance.
    roughness_shaft, roughness_bore : float
        Surface roughness Rq [m], about 25 % higher than Ra.
    viscosity_40, viscosity_100 : float
        Kinematic viscosity [m2/s] of the oil at 40 and 100 degC.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    diameter: float
    length: float
    clearance: float
    roughness_shaft: float
    roughness_bore: float
    viscosity_40: float
    viscosity_100: float

    def __post_init__(self):
        ranges = (DIAMETER_SHAFT, SIZE, CLEARANCE, ROUGHNESS, ROUGHNESS, oil.VISCOSITY)
        for field, accepted in zip(self.__dataclass_fields__, (*ranges, oil.VISCOSITY)):
            object.__setattr__(self, field, check(field, getattr(self, field), accepted))
        least = self.roughness * FULL_FILM / (1 - ECCENTRICITY.low)
        if np.any(self.clearance <= least):
            times = f"{np.min(self.clearance / self.roughness):.3g}"
            given = Message("error.physics.times_roughness", times=times)
            limit = f"{FULL_FILM / (1 - ECCENTRICITY.low):.3g}"
            raise InputError("clearance", given, Message("error.physics.more_times", limit=limit))

    @property
    def roughness(self):
        """Return the combined roughness [m] of both surfaces, sqrt(Rq1^2 + Rq2^2)."""
        return np.hypot(self.roughness_shaft, self.roughness_bore)

    @property
    def length_to_diameter(self):
        """Return the ratio of bore length to shaft diameter."""
        return self.length / self.diameter


class Running(NamedTuple):
    """Operating state of a sleeve bearing, as scalars or arrays.

    Attributes
    ----------
    temp_oil : ndarray
        Oil film temperature [degC].
    viscosity : ndarray
        Oil viscosity [Pa s].
    sommerfeld : ndarray
        Sommerfeld number S.
    eccentricity_ratio : ndarray
        Eccentricity ratio, limited to the range from 0.01 to 0.98.
    film_thickness : ndarray
        Film thickness [m] at the narrowest gap.
    lambda_ratio : ndarray
        Ratio of film thickness to surface roughness.
    torque, loss : ndarray
        Friction torque [N m] and friction loss [W].
    oil_flow, oil_side_flow : ndarray
        Oil flow [m3/s] into the film and out at its ends.
    pressure_mean, pressure_highest : ndarray
        Mean and maximum pressure [Pa] for a full film.
    """

    temp_oil: np.ndarray
    viscosity: np.ndarray
    sommerfeld: np.ndarray
    eccentricity_ratio: np.ndarray
    film_thickness: np.ndarray
    lambda_ratio: np.ndarray
    torque: np.ndarray
    loss: np.ndarray
    oil_flow: np.ndarray
    oil_side_flow: np.ndarray
    pressure_mean: np.ndarray
    pressure_highest: np.ndarray

    @property
    def regime(self):
        """Return the lubrication regime: "boundary", "mixed" or "full film"."""
        return regime(self.lambda_ratio)


def running(
    sleeve: Sleeve, load, speed_rpm, temp_housing, conductance, fed_share=0.0, start=0.0,
    friction_boundary=FRICTION_BRONZE, capped=False,
) -> Running:  # fmt: skip
    """Return the state of a sleeve bearing at its equilibrium oil temperature.

    The heat carried away by fed oil is calculated according to Shigley, Mechanical Engineering
    Design, chapter 12: oil that leaves at the ends has half of the temperature rise. As lambda
    decreases from 3 to 1, the fraction of the load that is carried by asperities increases linearly
    (engineering judgment). Array arguments are broadcast against each other.

    Parameters
    ----------
    sleeve : Sleeve
        Bearing and oil.
    load : array_like
        Radial load [N].
    speed_rpm : array_like
        Speed [rpm].
    temp_housing : array_like
        Housing temperature [degC].
    conductance : array_like
        Thermal conductance [W/K] from oil to housing.
    fed_share : array_like, optional
        Fraction of the oil in the film that is supplied fresh at housing temperature, 0 to 1. It is
        0 for wick-fed and porous bearings.
    start : array_like, optional
        Angle [rad] at which the film begins, a scalar. It is STARVED for a starved bearing.
    friction_boundary : array_like, optional
        Friction coefficient in boundary lubrication.
    capped : bool, optional
        True to limit the oil temperature to 150 degC.

    Raises
    ------
    InputError
        If a value is out of range.
    ArithmeticError
        If the oil would be hotter than 150 degC and ``capped`` is False.

    Examples
    --------
    >>> sleeve = Sleeve(0.0127, 0.01905, 12.7e-6, 0.25e-6, 0.5e-6, 32e-6, 5.4e-6)
    >>> found = running(sleeve, 10.0, 1075.0, 55.0, 1.0)
    >>> round(float(found.temp_oil), 1), str(found.regime)
    (55.5, 'full film')
    """
    case, shape = _flat(_Case(
        sleeve.diameter, sleeve.length, sleeve.clearance, sleeve.roughness,
        sleeve.viscosity_40, sleeve.viscosity_100,
        check("load", load, LOAD),
        check("speed_rpm", speed_rpm, SPEED_RPM) / 60,
        check("temp_housing", temp_housing, TEMP_HOUSING),
        check("conductance", conductance, CONDUCTANCE),
        check("fed_share", fed_share, RATIO),
        check("friction_boundary", friction_boundary, FRICTION_BOUNDARY),
    ))  # fmt: skip
    found = _at(case, _temp(case, start, capped), start)
    return Running(*(np.reshape(part, shape)[()] for part in found))


class Bounds(NamedTuple):
    """States of a bearing with enough oil and with too little oil.

    With too little oil, only the last 30 % of the converging gap is filled.
    """

    flooded: Running
    starved: Running


def bounds(
    sleeve: Sleeve, load, speed_rpm, temp_housing, conductance, fed_share=0.0,
    friction_boundary=FRICTION_BRONZE, capped=False,
) -> Bounds:  # fmt: skip
    """Return optimistic and pessimistic states of a wick-fed or porous sleeve bearing.

    The arguments, array shapes and errors are the same as in `running`.
    """
    given = sleeve, load, speed_rpm, temp_housing, conductance, fed_share
    return Bounds(*(running(*given, start, friction_boundary, capped) for start in (0.0, STARVED)))


def regime(lambda_ratio):
    """Return the lubrication regime: "boundary", "mixed" or "full film".

    ``lambda_ratio`` is the ratio of film thickness to surface roughness. Lubrication is mixed from
    1 to 3, boundary below 1 and full film above 3. These limits can be found in any lubrication
    handbook. The result has the same shape as the input.

    Raises
    ------
    InputError
        If the ratio is not a number.
    """
    ratio = check("lambda_ratio", lambda_ratio, LAMBDA)
    return WORDS[np.searchsorted([BOUNDARY, FULL_FILM], ratio, side="right")]


def speed_at_lambda(sleeve: Sleeve, load, lambda_ratio, temp_oil, start=0.0):
    """Return the speed [rpm] at which the oil film reaches ``lambda_ratio``.

    The film is calculated for steady rotation. During a start, the film is thicker if oil remains
    on the shaft, and thinner if the bearing has drained. The film thickness is never less than 0.02
    times the clearance. Array arguments are broadcast against each other.

    Parameters
    ----------
    sleeve : Sleeve
        Bearing and oil.
    load : array_like
        Radial load [N].
    lambda_ratio : array_like
        Ratio of film thickness to surface roughness.
    temp_oil : array_like
        Oil temperature [degC]. Use ambient temperature for a start and running temperature for a
        stop.
    start : array_like, optional
        Start angle [rad] of the film, as in `running`.

    Raises
    ------
    InputError
        If a value is out of range or if even an unloaded bearing does not reach the ratio.
    """
    load = check("load", load, LOAD)
    temp = check("temp_oil", temp_oil, TEMP_BEARING)
    gap = check("lambda_ratio", lambda_ratio, LAMBDA_SOUGHT) * sleeve.roughness / sleeve.clearance
    if np.any(gap > 1 - ECCENTRICITY.low):
        most = np.min((1 - ECCENTRICITY.low) * sleeve.clearance / sleeve.roughness)
        accepted = Message("error.physics.up_to_here", most=f"{most:.3g}")
        raise InputError("lambda_ratio", f"{np.max(lambda_ratio):g}", accepted)
    eccentricity = np.clip(1 - gap, *ECCENTRICITY[:2])
    sommerfeld = film_read(eccentricity, sleeve.length_to_diameter, start).sommerfeld
    viscosity = oil.dynamic_viscosity(temp, sleeve.viscosity_40, sleeve.viscosity_100)
    stiff = (sleeve.diameter / 2 / sleeve.clearance) ** 2 * sleeve.length * sleeve.diameter
    return 60 * sommerfeld * load / (viscosity * stiff)


def revolutions_below(limit_rpm, speed_rpm, ramp_time):
    """Return the number of revolutions below ``limit_rpm`` during a start or stop.

    The deceleration of a coasting fan decreases over time. Estimate ``ramp_time`` from the
    deceleration in the last few revolutions. Array arguments are broadcast against each other.

    Parameters
    ----------
    limit_rpm : array_like
        Speed limit [rpm].
    speed_rpm : array_like
        Running speed [rpm].
    ramp_time : array_like
        Time [s] for a linear speed change between 0 and ``speed_rpm``.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(revolutions_below(500.0, 1000.0, 6.0))
    12.5
    """
    speed = check("speed_rpm", speed_rpm, SPEED_RPM)
    limit = np.minimum(check("limit_rpm", limit_rpm, LIMIT_RPM), speed)
    return check("ramp_time", ramp_time, TIME) / 60 * limit**2 / (2 * speed)


class Washer(NamedTuple):
    """Operating state of a thrust washer.

    Attributes
    ----------
    pressure_mean : ndarray
        Mean pressure [Pa].
    sliding_speed : ndarray
        Sliding speed [m/s] at the mean diameter.
    pv : ndarray
        Pressure times sliding speed [Pa m/s], which is limited by PV_WASHER.
    torque : ndarray
        Friction torque [N m].
    loss : ndarray
        Friction loss [W].
    """

    pressure_mean: np.ndarray
    sliding_speed: np.ndarray
    pv: np.ndarray
    torque: np.ndarray
    loss: np.ndarray


def washer(load_axial, speed_rpm, bore, outside, friction_coefficient) -> Washer:
    """Return the operating state of a thrust washer.

    The washer is assumed to be run in. With uniform wear, pressure times speed is constant over the
    face, and the torque acts at the mean diameter (Shigley, Mechanical Engineering Design, chapter
    16, uniform wear). Array arguments are broadcast against each other.

    Parameters
    ----------
    load_axial : array_like
        Axial load [N].
    speed_rpm : array_like
        Speed [rpm].
    bore, outside : array_like
        Inside and outside diameter [m] of the contact ring.
    friction_coefficient : array_like
        Friction coefficient. FRICTION_WASHER gives its range.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> found = washer(20.0, 1075.0, 0.014, 0.024, 0.1)
    >>> round(float(found.loss), 3), round(float(found.pv))
    (2.139, 71667)
    """
    load = check("load_axial", load_axial, LOAD)
    turning = check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30
    bore = check("bore", bore, DIAMETER_WASHER)
    outside = check("outside", outside, DIAMETER_WASHER)
    if np.any(bore >= outside):
        raise InputError("bore", f"{np.max(bore):g}", Message("error.size.below_outside"), "m")
    radius = (bore + outside) / 4
    pressure = load / (np.pi / 4 * (outside**2 - bore**2))
    rubs = check("friction_coefficient", friction_coefficient, FRICTION_COEFFICIENT)
    torque, speed = rubs * load * radius, turning * radius
    return Washer(*np.broadcast_arrays(pressure, speed, pressure * speed, torque, torque * turning))


def sleeve_pv(load, speed_rpm, diameter, length):
    """Return the PV value [Pa m/s] of a sleeve bearing, which is limited by PV_SLEEVE.

    The value is the mean pressure times the sliding speed. Array arguments are broadcast against
    each other.

    Parameters
    ----------
    load : array_like
        Radial load [N].
    speed_rpm : array_like
        Speed [rpm].
    diameter : array_like
        Shaft diameter [m].
    length : array_like
        Bore length [m].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(sleeve_pv(20.0, 1075.0, 0.0127, 0.01905) / PV_SLEEVE), 3)
    0.034
    """
    area = check("diameter", diameter, SIZE) * check("length", length, SIZE)
    speed = check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 60 * diameter
    return check("load", load, LOAD) / area * speed


def rubbing(diameter, speed_rpm, lambda_ratio, revolutions_rubbing, starts_per_hour):
    """Return the rubbing distance of a sleeve bearing per unit of running time [m/s].

    If ``lambda_ratio`` at running speed is below 3, the surfaces rub continuously. Otherwise they
    rub only during starts and stops. A thrust washer rubs continuously, so its rubbing distance per
    unit of running time is its sliding speed. Array arguments are broadcast against each other.

    Parameters
    ----------
    diameter : array_like
        Shaft diameter [m].
    speed_rpm : array_like
        Speed [rpm].
    lambda_ratio : array_like
        Ratio of film thickness to surface roughness at running speed.
    revolutions_rubbing : array_like
        Revolutions below lambda 3 per start.
    starts_per_hour : array_like
        Number of starts per running hour.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(rubbing(0.0127, 1075.0, 10.0, 6.0, 3.0)), 6)
    0.000199
    """
    around = np.pi * check("diameter", diameter, SIZE)
    always = around * check("speed_rpm", speed_rpm, SPEED_RPM) / 60
    turns = check("revolutions_rubbing", revolutions_rubbing, REVOLUTIONS)
    seldom = around * turns * check("starts_per_hour", starts_per_hour, STARTS) / HOUR
    return np.where(check("lambda_ratio", lambda_ratio, LAMBDA) < FULL_FILM, always, seldom)[()]


def wear_depth(wear_coefficient, pressure_mean, distance):
    """Return the wear depth [m] according to Archard (1953).

    The depth is the wear coefficient times pressure times distance. Wear is assumed to be uniform.
    In a bore, the maximum depth is about two to four times the uniform depth, which is covered by
    the range of the wear coefficient. Array arguments are broadcast against each other.

    Parameters
    ----------
    wear_coefficient : array_like
        Wear coefficient [m2/N].
    pressure_mean : array_like
        Mean pressure [Pa] on the projected face.
    distance : array_like
        Rubbing distance [m].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(wear_depth(1e-16, 1e5, 2.6e6)) * 1e6, 6)
    26.0
    """
    wear = check("wear_coefficient", wear_coefficient, WEAR_RANGE)
    pressure = check("pressure_mean", pressure_mean, PRESSURE_MEAN)
    return wear * pressure * check("distance", distance, DISTANCE)


def wear_life(allowance, wear_coefficient, pressure_mean, rubbing_speed):
    """Return the running time [h] until the allowable wear depth is reached.

    Array arguments are broadcast against each other.

    Parameters
    ----------
    allowance : array_like
        Allowable wear depth [m].
    wear_coefficient : array_like
        Wear coefficient [m2/N], from WEAR_COEFFICIENT or `wear_coefficient_seen`.
    pressure_mean : array_like
        Mean pressure [Pa].
    rubbing_speed : array_like
        Rubbing distance per unit of running time [m/s]. If it is 0, the life is infinite.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(wear_life(26e-6, 1e-16, 1e5, 0.5)))
    1444
    """
    allowance = check("allowance", allowance, ALLOWANCE)
    speed = check("rubbing_speed", rubbing_speed, RUBBING_SPEED)
    each_hour = wear_depth(wear_coefficient, pressure_mean, speed * HOUR)
    rubs = each_hour > 0
    return np.where(rubs, allowance / np.where(rubs, each_hour, 1.0), np.inf)[()]


def wear_coefficient_seen(life_reference, allowance, pressure_mean, rubbing_speed):
    """Return the wear coefficient [m2/N] of bearings with a known life.

    The function is the inverse of `wear_life`. If the bearings failed for a reason other than wear,
    the result is an upper bound. Array arguments are broadcast against each other.

    Parameters
    ----------
    life_reference : array_like
        Known life [h].
    allowance : array_like
        Wear depth [m] at the end of the life.
    pressure_mean : array_like
        Mean pressure [Pa].
    rubbing_speed : array_like
        Rubbing distance per unit of running time [m/s] in that service, greater than 0.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(wear_coefficient_seen(1444.0, 26e-6, 1e5, 0.5)) * 1e16, 3)
    1.0
    """
    life = check("life_reference", life_reference, LIFE)
    pressure = check("pressure_mean", pressure_mean, PRESSURE_MEAN._replace(low=1.0))
    speed = check("rubbing_speed", rubbing_speed, RUBBING_SPEED._replace(low=1e-9))
    return check("allowance", allowance, ALLOWANCE) / (pressure * speed * life * HOUR)


def oil_life(temp_oil, life_reference, temp_oil_reference, halving_interval=OIL_HALVING):
    """Return the oil life [h], scaled from a known life to a different temperature.

    The known life of the motors is a lower limit for the oil life, even if they failed for a
    different reason. Array arguments are broadcast against each other.

    Parameters
    ----------
    temp_oil : array_like
        Oil temperature [degC].
    life_reference : array_like
        Known life [h] from the user's experience with these motors at this site.
    temp_oil_reference : array_like
        Oil temperature [degC] during the known life.
    halving_interval : array_like, optional
        Temperature increase [K] that halves the life, 10 K in common practice.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(oil_life(70.0, 20000.0, 60.0))
    10000.0
    """
    hotter = check("temp_oil", temp_oil, TEMP_BEARING) - check(
        "temp_oil_reference", temp_oil_reference, TEMP_BEARING
    )
    interval = check("halving_interval", halving_interval, INTERVAL)
    return check("life_reference", life_reference, LIFE) * 2.0 ** (-hotter / interval)


class _Case(NamedTuple):
    """Arguments of `running` as arrays of shape (cases,)."""

    diameter: np.ndarray
    length: np.ndarray
    clearance: np.ndarray
    roughness: np.ndarray
    viscosity_40: np.ndarray
    viscosity_100: np.ndarray
    load: np.ndarray
    turns: np.ndarray  # per second
    temp_housing: np.ndarray
    conductance: np.ndarray
    fed_share: np.ndarray
    friction_boundary: np.ndarray


def _flat(case: _Case):
    """Return the arguments as flat arrays, and their original shape."""
    parts = np.broadcast_arrays(*case)
    return _Case(*map(np.ravel, parts)), parts[0].shape


def _at(case: _Case, temp, start) -> Running:
    """Return the state of the bearing at an oil temperature ``temp`` [degC]."""
    viscosity = oil.dynamic_viscosity(temp, case.viscosity_40, case.viscosity_100)
    radius = case.diameter / 2
    carries = viscosity * case.turns * case.length * case.diameter * (radius / case.clearance) ** 2
    sommerfeld = carries / np.maximum(case.load, NO_LOAD)
    film = film_under_load(sommerfeld, case.length / case.diameter, start)
    gap = case.clearance * (1 - film.eccentricity_ratio)
    # Film friction times load. S and e are treated separately for loads outside the table.
    drag = film._replace(sommerfeld=sommerfeld).friction * np.maximum(case.load, NO_LOAD)
    touching = np.clip((FULL_FILM - gap / case.roughness) / (FULL_FILM - BOUNDARY), 0, 1)
    dry = case.friction_boundary * case.load * radius
    torque = (1 - touching) * case.clearance * drag + touching * dry
    flow = film.flow * radius * case.clearance * case.turns * case.length
    mean = case.load / (case.length * case.diameter)
    return Running(
        temp, viscosity, sommerfeld, film.eccentricity_ratio, gap, gap / case.roughness,
        torque, torque * 2 * np.pi * case.turns,
        flow, flow * film.side_flow_ratio, mean, mean / film.pressure_ratio,
    )  # fmt: skip


def _excess(case: _Case, temp, start):
    """Return the heat [W] that leaves the oil at ``temp`` [degC] minus the friction heat."""
    found = _at(case, temp, start)
    # The film is at the mean of the inlet and outlet temperatures, so the outlet rise is doubled.
    carried = case.fed_share * 2 * (found.oil_flow - found.oil_side_flow / 2)
    by_oil = carried * oil.oil_density(temp) * oil.HEAT_CAPACITY
    return (temp - case.temp_housing) * (case.conductance + by_oil) - found.loss


def _temp(case: _Case, start, capped):
    """Return the oil temperature [degC] at which the heat flows balance."""
    temp = np.full(case.load.size, TEMP_BEARING.high)
    excess = _excess(case, temp, start)
    burns = excess < 0
    if burns.any() and not capped:
        raise ArithmeticError("a sleeve bearing's oil would get hotter than 150 degC")
    which = np.flatnonzero(~burns)
    if which.size:
        own = _Case(*(part[which] for part in case))
        temp[which] = _balanced(own, excess[which], start)
    return temp


def _balanced(case: _Case, excess, start):
    """Return the oil temperature [degC], which is between that of the housing and 150 degC.

    ``excess`` is the result of `_excess` at 150 degC.

    The method is regula falsi with the Illinois modification (Dowell and Jarratt, BIT 11, 1971).
    """
    earlier, last = case.temp_housing, np.full(case.load.size, TEMP_BEARING.high)
    excess_earlier = _excess(case, earlier, start)
    for _ in range(STEPS):
        slope = np.where(excess == excess_earlier, np.inf, excess - excess_earlier)
        temp = last - excess * (last - earlier) / slope
        found = _excess(case, temp, start)
        crossed = (found < 0) != (excess < 0)
        earlier = np.where(crossed, last, earlier)
        excess_earlier = np.where(crossed, excess, excess_earlier / 2)
        moved, last, excess = np.abs(temp - last), temp, found
        if np.all(moved < TOLERANCE):
            return temp
    raise ArithmeticError("no oil temperature was found for a sleeve bearing")
