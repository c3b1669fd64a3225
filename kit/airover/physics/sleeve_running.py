"""A running sleeve bearing: oil temperature, film, friction, thrust washer, wear, oil life.

The heat of its friction leaves through shaft and housing, by a conductance; hardly any new oil
passes through a wick-fed or porous bearing. Where oil is fed, it carries heat too. A wick or a
porous wall gives less oil than the film could take. So a film that begins at the widest gap is the
optimistic bound; in the other one the last 30 % of the narrowing gap is filled (`bounds`; common
practice, no source). Steady load, parallel axes, round bore: a load that turns with the shaft, as
unbalance does, is taken by its size.

A thrust washer is a flat ring that carries a vertical shaft. Its faces are parallel, so no wedge
draws oil in: it runs in boundary lubrication at all speeds, and friction is a coefficient.

No standard gives the life of a wick-fed or porous sleeve bearing. Two models screen it, and the
shorter life counts: wear where surfaces touch (Archard), and aging of the oil. A wear coefficient
is known within a factor of 10 to 100, so hours are orders of magnitude until somebody knows how
long motors on the same kind of job last. Give ranges as arrays of samples. Dirt, misalignment and
oil that creeps away end many bearings and are not in it.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.optimize import elementwise

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

NO_LOAD = 1e-9  # N, in place of zero
HOUR = 3600.0  # s
BOUNDARY, FULL_FILM = 1.0, 3.0  # lambda at which roughness carries all, and nothing; any handbook
WORDS = np.array(["boundary", "mixed", "full film"])
# Common practice, no source.
STARVED = 0.7 * np.pi  # rad: where the film of a starved bearing begins
FRICTION_BRONZE = 0.1  # oiled bronze on steel without a film, 0.05 to 0.15
FRICTION_WASHER = (0.05, 0.15)  # oiled steel on bronze, polymer or laminate
WEAR_COEFFICIENT = (1e-17, 1e-15)  # m2/N, oiled bronze on steel: worn volume over load and distance
OIL_HALVING = 10.0  # K
# Porous bronze; recalled of such bearings in general, not verified. A thrust face bears a fifth.
PV_SLEEVE = 1.75e6  # Pa m/s
PV_WASHER = PV_SLEEVE / 5


@dataclass(frozen=True)
class Sleeve:
    """A sleeve bearing with its oil; each value a number or an array, which broadcast.

    ``diameter`` [m] of the shaft, ``length`` [m] of the bore, ``clearance`` [m] in radius, half of
    that in diameter; ``roughness_shaft`` and ``roughness_bore`` [m] Rq, a quarter above Ra;
    ``viscosity_40`` and ``viscosity_100`` [m2/s] of the oil at 40 and 100 degC. A bore 0.2 to 2
    diameters long. Raises InputError out of range.
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
        """Of both surfaces together, sqrt(Rq1^2 + Rq2^2) [m]."""
        return np.hypot(self.roughness_shaft, self.roughness_bore)

    @property
    def length_to_diameter(self):
        """The bore's length over the shaft's diameter."""
        return self.length / self.diameter


class Running(NamedTuple):
    """A sleeve bearing at work; scalars or arrays of the shape of all inputs together.

    ``temp_oil`` [degC] in the film, its ``viscosity`` [Pa s]; ``sommerfeld`` S and
    ``eccentricity_ratio`` (held within 0.01 to 0.98); ``film_thickness`` [m] at the narrowest gap;
    ``lambda_ratio``, that over the roughness; ``torque`` [N m] and ``loss`` [W] of friction;
    ``oil_flow`` and ``oil_side_flow`` [m3/s] into the film and out at its ends; ``pressure_mean``
    and ``pressure_highest`` [Pa], of a full film.
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
        """One word each: "boundary", "mixed" or "full film", see regime."""
        return regime(self.lambda_ratio)


def running(
    sleeve: Sleeve, load, speed_rpm, temp_housing, conductance, fed_share=0.0, start=0.0,
    friction_boundary=FRICTION_BRONZE, capped=False,
) -> Running:  # fmt: skip
    """A ``sleeve`` under a radial ``load`` [N] at ``speed_rpm``, at its own oil temperature.

    ``temp_housing`` [degC] around the bearing and ``conductance`` [W/K] from its oil to there;
    ``fed_share`` 0 to 1 of the film's oil comes in fresh at the housing's temperature, 0 for wicks
    and porous walls; ``start`` [rad] one number, where the film begins (STARVED in a starved
    bearing); ``friction_boundary`` friction coefficient without a film. Heat that fed oil carries
    is Shigley's, Mechanical Engineering Design, chapter 12: what leaves at the ends does so half
    warmed up. Between lambda 3 and 1 roughness takes over the load linearly (engineering
    judgment). Arrays broadcast. Raises InputError out of range, ArithmeticError where the oil
    would get hotter than 150 degC, unless ``capped``: then its temperature counts as 150 degC.

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
    """Two `Running`: with oil enough, and with the last 30 % of the narrowing gap filled."""

    flooded: Running
    starved: Running


def bounds(
    sleeve: Sleeve, load, speed_rpm, temp_housing, conductance, fed_share=0.0,
    friction_boundary=FRICTION_BRONZE, capped=False,
) -> Bounds:  # fmt: skip
    """The optimistic and the pessimistic end for a wick-fed or porous ``sleeve``.

    Arguments, shapes and errors as in running.
    """
    given = sleeve, load, speed_rpm, temp_housing, conductance, fed_share
    return Bounds(*(running(*given, start, friction_boundary, capped) for start in (0.0, STARVED)))


def regime(lambda_ratio):
    """Words of ``lambda_ratio``: "boundary" below 1, "mixed" to 3, "full film" above.

    The limits are any handbook's. Arrays keep their shape. Raises InputError for what is no number.
    """
    ratio = check("lambda_ratio", lambda_ratio, LAMBDA)
    return WORDS[np.searchsorted([BOUNDARY, FULL_FILM], ratio, side="right")]


def speed_at_lambda(sleeve: Sleeve, load, lambda_ratio, temp_oil, start=0.0):
    """Speed [rpm] at which the film of ``sleeve`` reaches ``lambda_ratio``, oil at ``temp_oil``.

    ``load`` [N] radial, ``temp_oil`` [degC]: as cold as the place at starting, as warm as it ran at
    stopping; ``start`` [rad] as in running. The film is one of steady turning; at starting, oil
    that stayed on the shaft makes it better, and a bearing that drained makes it worse. Films
    thinner than 0.02 clearances count as 0.02. Arrays broadcast. Raises InputError out of range
    and where even an unloaded film would be thinner.
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
    """Revolutions below ``limit_rpm`` [rpm] in one start, or one stop.

    Speed changes evenly between 0 and ``speed_rpm`` within ``ramp_time`` [s]. A blade that coasts
    down slows less and less: give it the time that it would take at the slowing of its last turns.
    Arrays broadcast. Raises InputError out of range.

    >>> float(revolutions_below(500.0, 1000.0, 6.0))
    12.5
    """
    speed = check("speed_rpm", speed_rpm, SPEED_RPM)
    limit = np.minimum(check("limit_rpm", limit_rpm, LIMIT_RPM), speed)
    return check("ramp_time", ramp_time, TIME) / 60 * limit**2 / (2 * speed)


class Washer(NamedTuple):
    """``pressure_mean`` [Pa], ``sliding_speed`` [m/s] at the mean diameter, ``pv`` [Pa m/s] as
    their product (compare with PV_WASHER), ``torque`` [N m] and ``loss`` [W]."""

    pressure_mean: np.ndarray
    sliding_speed: np.ndarray
    pv: np.ndarray
    torque: np.ndarray
    loss: np.ndarray


def washer(load_axial, speed_rpm, bore, outside, friction_coefficient) -> Washer:
    """A thrust washer under ``load_axial`` [N] at ``speed_rpm``.

    ``bore`` and ``outside`` diameter [m] of the ring that touches; ``friction_coefficient``, for
    a range FRICTION_WASHER. It has run in: where faces wear alike, pressure times speed is even and
    the torque acts at the mean diameter (Shigley, Mechanical Engineering Design, chapter 16,
    uniform wear). Arrays broadcast. Raises InputError out of range.

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
    """Mean pressure times sliding speed [Pa m/s] in a sleeve bearing, to compare with PV_SLEEVE.

    ``load`` [N] radial, ``speed_rpm``, ``diameter`` of the shaft and ``length`` of the bore [m].
    Arrays broadcast. Raises InputError out of range.

    >>> round(float(sleeve_pv(20.0, 1075.0, 0.0127, 0.01905) / PV_SLEEVE), 3)
    0.034
    """
    area = check("diameter", diameter, SIZE) * check("length", length, SIZE)
    speed = check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 60 * diameter
    return check("load", load, LOAD) / area * speed


def rubbing(diameter, speed_rpm, lambda_ratio, revolutions_rubbing, starts_per_hour):
    """Distance rubbed in a sleeve bearing over its running time [m/s].

    All of the way where ``lambda_ratio`` at running is below 3; else that of starting and stopping,
    ``revolutions_rubbing`` below lambda 3 for each of ``starts_per_hour`` of running. ``diameter``
    [m] of the shaft, ``speed_rpm``. A thrust washer rubs all the time: its sliding speed. Arrays
    broadcast. Raises InputError out of range.

    >>> round(float(rubbing(0.0127, 1075.0, 10.0, 6.0, 3.0)), 6)
    0.000199
    """
    around = np.pi * check("diameter", diameter, SIZE)
    always = around * check("speed_rpm", speed_rpm, SPEED_RPM) / 60
    turns = check("revolutions_rubbing", revolutions_rubbing, REVOLUTIONS)
    seldom = around * turns * check("starts_per_hour", starts_per_hour, STARTS) / HOUR
    return np.where(check("lambda_ratio", lambda_ratio, LAMBDA) < FULL_FILM, always, seldom)[()]


def wear_depth(wear_coefficient, pressure_mean, distance):
    """Depth [m] worn away: ``wear_coefficient`` [m2/N] times pressure [Pa] times distance [m].

    Archard 1953. ``pressure_mean`` [Pa] over the projected face, ``distance`` [m] rubbed. Depth is
    taken as even; in a bore it is some two to four times that at its deepest, which the
    coefficient's range covers. Arrays broadcast. Raises InputError out of range.

    >>> round(float(wear_depth(1e-16, 1e5, 2.6e6)) * 1e6, 6)
    26.0
    """
    wear = check("wear_coefficient", wear_coefficient, WEAR_RANGE)
    pressure = check("pressure_mean", pressure_mean, PRESSURE_MEAN)
    return wear * pressure * check("distance", distance, DISTANCE)


def wear_life(allowance, wear_coefficient, pressure_mean, rubbing_speed):
    """Running time [h] until the ``allowance`` [m] is worn away, infinite where nothing rubs.

    ``rubbing_speed`` [m/s] over the running time; ``wear_coefficient`` [m2/N], from
    WEAR_COEFFICIENT or wear_coefficient_seen; ``pressure_mean`` [Pa]. Arrays broadcast. Raises
    InputError out of range.

    >>> round(float(wear_life(26e-6, 1e-16, 1e5, 0.5)))
    1444
    """
    allowance = check("allowance", allowance, ALLOWANCE)
    speed = check("rubbing_speed", rubbing_speed, RUBBING_SPEED)
    each_hour = wear_depth(wear_coefficient, pressure_mean, speed * HOUR)
    rubs = each_hour > 0
    return np.where(rubs, allowance / np.where(rubs, each_hour, 1.0), np.inf)[()]


def wear_coefficient_seen(life_reference, allowance, pressure_mean, rubbing_speed):
    """Wear coefficient [m2/N] of bearings that are known to last ``life_reference`` [h].

    Wear_life turned round, for bearings that wore out: ``allowance`` [m], ``pressure_mean`` [Pa]
    and ``rubbing_speed`` [m/s], above 0, there. Where something else ended them, it is the upper
    bound. Arrays broadcast. Raises InputError out of range.

    >>> round(float(wear_coefficient_seen(1444.0, 26e-6, 1e5, 0.5)) * 1e16, 3)
    1.0
    """
    life = check("life_reference", life_reference, LIFE)
    pressure = check("pressure_mean", pressure_mean, PRESSURE_MEAN._replace(low=1.0))
    speed = check("rubbing_speed", rubbing_speed, RUBBING_SPEED._replace(low=1e-9))
    return check("allowance", allowance, ALLOWANCE) / (pressure * speed * life * HOUR)


def oil_life(temp_oil, life_reference, temp_oil_reference, halving_interval=OIL_HALVING):
    """Hours [h] that the oil lasts at ``temp_oil`` [degC], from a point that is known.

    ``life_reference`` [h] at ``temp_oil_reference`` [degC] is the user's own: these motors last
    so long here. Half as long for each ``halving_interval`` [K] more, 10 K as common practice has
    it. The oil was good for that long at least, whatever ended those motors. Arrays broadcast.
    Raises InputError out of range.

    >>> float(oil_life(70.0, 20000.0, 60.0))
    10000.0
    """
    hotter = check("temp_oil", temp_oil, TEMP_BEARING) - check(
        "temp_oil_reference", temp_oil_reference, TEMP_BEARING
    )
    interval = check("halving_interval", halving_interval, INTERVAL)
    return check("life_reference", life_reference, LIFE) * 2.0 ** (-hotter / interval)


class _Case(NamedTuple):
    """Inputs of `running`, all of one shape (cases,)."""

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
    """The case with all its parts of one shape (cases,), and the shape to give back."""
    parts = np.broadcast_arrays(*case)
    return _Case(*map(np.ravel, parts)), parts[0].shape


def _at(case: _Case, temp, start) -> Running:
    """State of the bearing with its oil at ``temp``."""
    viscosity = oil.dynamic_viscosity(temp, case.viscosity_40, case.viscosity_100)
    radius = case.diameter / 2
    carries = viscosity * case.turns * case.length * case.diameter * (radius / case.clearance) ** 2
    sommerfeld = carries / np.maximum(case.load, NO_LOAD)
    film = film_under_load(sommerfeld, case.length / case.diameter, start)
    gap = case.clearance * (1 - film.eccentricity_ratio)
    # The film's friction times its load; S and e apart, for loads beyond the table's.
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
    """Heat [W] that leaves an oil of ``temp`` over the heat that friction makes there."""
    found = _at(case, temp, start)
    # The film is at the mean of what enters and what leaves behind it: twice its rise.
    carried = case.fed_share * 2 * (found.oil_flow - found.oil_side_flow / 2)
    by_oil = carried * oil.oil_density(temp) * oil.HEAT_CAPACITY
    return (temp - case.temp_housing) * (case.conductance + by_oil) - found.loss


def _temp(case: _Case, start, capped):
    """Oil temperature [degC] at which the heat balances."""

    def excess(temp, which):
        return _excess(_Case(*(part[which] for part in case)), temp, start)

    temp = np.full(case.load.size, TEMP_BEARING.high)
    burns = excess(temp, np.arange(temp.size)) < 0
    if burns.any() and not capped:
        raise ArithmeticError("a sleeve bearing's oil would get hotter than 150 degC")
    which = np.flatnonzero(~burns)
    if which.size:
        ends = case.temp_housing[which], temp[which]
        found = elementwise.find_root(excess, ends, args=(which,), tolerances={"xatol": 1e-6})
        temp[which] = found.x
    return temp
