"""Life of a motor's two sleeve bearings: a screening estimate, no standard gives hours.

Three things end them, whichever comes first: the oil ages, the bore wears at each start and stop
(all the time where the film is too thin), and the thrust washer of the bearing that carries the
rotor rubs all the time. Wear coefficients are known within a factor of a hundred, so the range is
wide; a reference point from the user's own experience makes it narrower.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import uniform
from airover.bearings.place import TEMP_HIGH, Met, Stand
from airover.bearings.reliability import MEDIAN, SLEEVE_SLOPE, over_median
from airover.motor.lifetime import LONGEST
from airover.physics import ball_bearing, oil, sleeve_running, sleeve_wear
from airover.physics.bearing_loads import BearingLoad
from airover.physics.sleeve_running import Bounds, Sleeve
from airover.physics.thrust_washer import FRICTION_WASHER, Washer, washer

# Common practice or own judgement, no source.
LENGTH = (1.2, 1.8)  # of the bore, in diameters of the shaft
CLEARANCE = (8e-6, 20e-6)  # m in radius
ROUGHNESS_SHAFT, ROUGHNESS_BORE = (0.15e-6, 0.4e-6), (0.3e-6, 0.8e-6)  # m
OIL_40, OIL_100 = (32e-6, 68e-6), (5.4e-6, 8.7e-6)  # m2/s, turbine oils VG 32 to VG 68
STARTS = (1.0, 6.0)  # an hour of running
RUN_UP, COASTING = 3.0, (10.0, 40.0)  # s to full speed, and from it
WASHER_INSIDE, WASHER_WIDTH = 0.002, (0.003, 0.006)  # m over the shaft; breadth of the ring
WASHER_ALLOWANCE = (0.2e-3, 0.6e-3)  # m worn off before the rotor sits wrong
BORE_ALLOWANCE = (20e-6, 60e-6)  # m worn off before it rattles
# The oil's hours and the upper end of the washer's wear agree with the ten years or so that the
# trade sees in outdoor units, whose shafts are vertical: wear of 1e-15 would end those within a
# season. A horizontal shaft keeps its oil: up to twice as long, as for the grease of ball bearings.
OIL_LIFE, TEMP_OIL_LIFE = (10_000.0, 40_000.0), 80.0  # h, and at which degC
WEAR_WASHER = (1e-17, 2e-16)  # m2/N
OIL_HALVING = (8.0, 12.0)  # K
OIL_KEPT = (0.0, 1.0)  # doublings of the oil's life on a horizontal shaft
COLD_OIL = 2000e-6  # m2/s: a wick hardly feeds such oil, and its drag takes a third of the torque
# with which a capacitor-run motor starts
SCATTER = (0.7, 1.4)  # of single motors around a user's own reference point
CONDUCTANCE = (0.5, 2.0)  # W/K from the oil film to the housing
FRICTION = sum(FRICTION_WASHER) / 2
ENDS = ("oil", "wear of the bore", "wear of the thrust washer")
SCREENING = "screening estimate, no standard"


class Reference(NamedTuple):
    """What the user knows: motors like this, in this place, last ``hours`` [h] with their bearings
    at ``temp`` [degC]."""

    hours: float
    temp: float


class SleeveLife(NamedTuple):
    """Two sleeve bearings, samples: hours [h] at the requested reliability until the ``oil`` is
    old, the ``bore`` worn, the thrust ``washer`` worn (LONGEST where nothing rubs). ``pv_bore`` and ``pv_washer`` are pressure times
    speed over what porous bronze bears, the worse of both bearings; ``film_rpm`` the speed above
    which the blade's bearing has a full film."""

    oil: np.ndarray
    bore: np.ndarray
    washer: np.ndarray
    pv_bore: np.ndarray
    pv_washer: np.ndarray
    film_rpm: np.ndarray

    @property
    def hours(self):
        """Hours [h] until the first of the three ends a bearing.

        Each scatters by itself, so two that are alike end it sooner than either: the same rule as
        for two ball bearings.
        """
        lives = np.stack([self.oil, self.bore, self.washer], axis=-1)
        return np.minimum(ball_bearing.system_life(lives, SLEEVE_SLOPE), LONGEST)

    @property
    def first(self) -> dict[str, float]:
        """Share of the samples in which each ends the bearing first."""
        which = np.argmin([self.oil, self.bore, self.washer], axis=0)
        return {name: float(np.mean(which == at)) for at, name in enumerate(ENDS)}

    @property
    def governed_by(self) -> str:
        """The end that comes first in most of the samples."""
        return max(self.first, key=self.first.get)


def sleeve(
    stand: Stand, met: Met, reference: Reference | None = None, reliability=MEDIAN
) -> SleeveLife:
    """Both sleeve bearings of the motor of ``stand`` in what they have ``met``.

    Oil temperature is that of the bearing. ``reference``, if the user has one, is a median life: it
    sets the oil's life, and an upper bound of how fast bore and washer wear in the job's place.
    ``reliability`` 0.5 (median) to 0.9995. Raises InputError out of range.
    """
    load, temp = met.both
    bore, ring = _rubbed(stand, load, temp, met.speed_rpm)
    wear_bore, wear_washer = _wear(stand, reference)
    allowed = _allowances(stand)
    of_oil = _oil(stand, met, temp, reference)
    of_bore = sleeve_wear.wear_life(allowed[0], wear_bore, bore.pressure, bore.rubbing)
    of_washer = sleeve_wear.wear_life(
        allowed[1], wear_washer, ring.pressure_mean, ring.sliding_speed
    )
    scatter = over_median(reliability, SLEEVE_SLOPE)
    ends = of_oil, of_bore, of_washer
    return SleeveLife(
        *(np.minimum(scatter * lives.min(axis=0), LONGEST) for lives in ends),
        pv_bore=bore.pv.max(axis=0) / sleeve_wear.PV_SLEEVE,
        pv_washer=ring.pv.max(axis=0) / sleeve_wear.PV_WASHER,
        film_rpm=bore.film_rpm[0],
    )


def bore_of(stand: Stand) -> Sleeve:
    """The sleeve bearings that such a motor usually has, as draws."""
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


def film(stand: Stand, met: Met) -> Bounds:
    """The oil film in the blade's bearing, with oil enough and starved; draws.

    Oil that would get hotter than 150 degC counts as 150 degC: hot air and a dent burn a few draws.
    Raises InputError out of range.
    """
    load, temp = met.each[0]
    housing = np.minimum(temp, TEMP_HIGH)
    conductance = uniform(CONDUCTANCE, stand.deviates["housing"])
    return sleeve_running.bounds(
        bore_of(stand), load.radial, met.speed_rpm, housing, conductance, capped=True
    )


class _Bore(NamedTuple):
    """``pressure`` [Pa], ``rubbing`` [m/s] over the running time, ``pv`` [Pa m/s], ``film_rpm``."""

    pressure: np.ndarray
    rubbing: np.ndarray
    pv: np.ndarray
    film_rpm: np.ndarray


def _rubbed(stand: Stand, load: BearingLoad, temp, speed_rpm) -> tuple[_Bore, Washer]:
    """What rubs in the bores and at the washers, both bearings on the first axis.

    Half of the draws have oil enough, half are starved: which is true of a wick, nobody knows.
    """
    z, bearing = stand.deviates, bore_of(stand)
    flooded, starved = (
        sleeve_running.speed_at_lambda(bearing, load.radial, sleeve_wear.FULL, temp, start)
        for start in (0.0, sleeve_running.STARVED)
    )
    film_rpm = np.where(z["feed"] < 0, flooded, starved)
    turns = sum(
        sleeve_running.revolutions_below(np.minimum(film_rpm, speed_rpm), speed_rpm, ramp)
        for ramp in (RUN_UP, uniform(COASTING, z["coasting"]))
    )
    # Above the speed of lambda 3 lambda is above 3: all that the rule asks of it.
    ratio = sleeve_wear.FULL * speed_rpm / np.maximum(film_rpm, 1e-9)
    starts = uniform(STARTS, z["starts"])
    bore = _Bore(
        load.radial / (bearing.length * bearing.diameter),
        sleeve_wear.rubbing(bearing.diameter, speed_rpm, ratio, turns, starts),
        sleeve_wear.sleeve_pv(load.radial, speed_rpm, bearing.diameter, bearing.length),
        film_rpm,
    )
    inside = stand.shaft_diameter + WASHER_INSIDE
    outside = inside + 2 * uniform(WASHER_WIDTH, z["washer size"])
    return bore, washer(load.axial, speed_rpm, inside, outside, FRICTION)


def _allowances(stand: Stand):
    """What may wear off bore and washer [m]."""
    z = stand.deviates
    return uniform(BORE_ALLOWANCE, z["bore"]), uniform(WASHER_ALLOWANCE, z["washer"])


def _wear(stand: Stand, reference: Reference | None):
    """Wear coefficients [m2/N] of bore and washer.

    Motors that last as long as the reference says, as the job has them, wear no faster than that.
    """
    usual = [
        np.exp(uniform(np.log(ends), stand.deviates["wear"]))
        for ends in (sleeve_wear.WEAR_COEFFICIENT, WEAR_WASHER)
    ]
    if reference is None:
        return usual
    met = stand.met()
    bore, ring = _rubbed(stand, *met.both, met.speed_rpm)
    meets = (bore.pressure, bore.rubbing), (ring.pressure_mean, ring.sliding_speed)
    seen = (
        sleeve_wear.wear_coefficient_seen(
            reference.hours, allowance, np.maximum(pressure, 1.0), np.maximum(speed, 1e-9)
        ).min(axis=0)
        for allowance, (pressure, speed) in zip(_allowances(stand), meets, strict=True)
    )
    return [np.minimum(drawn, most) for drawn, most in zip(usual, seen, strict=True)]


def _oil(stand: Stand, met: Met, temp, reference: Reference | None):
    """Hours until the oil is old; a reference holds for the shaft position of the job."""
    z = stand.deviates
    if reference is None:
        hours, at = uniform(OIL_LIFE, z["oil life"]), TEMP_OIL_LIFE
        from_vertical = True
    else:
        hours, at = reference.hours * uniform(SCATTER, z["oil life"]), reference.temp
        from_vertical = stand.shaft_position != "horizontal"
    doublings = (int(from_vertical) - int(met.vertical)) * uniform(OIL_KEPT, z["kept"])
    hours = np.maximum(hours * 2.0**doublings, 1.0)
    return sleeve_wear.oil_life(temp, hours, at, uniform(OIL_HALVING, z["halving"]))


def thick_when_cold(stand: Stand, temp: float) -> bool:
    """True where the oil of a usual sleeve bearing at ``temp`` [degC] is above COLD_OIL."""
    bore = bore_of(stand)
    return bool(
        np.median(oil.oil_viscosity(temp, bore.viscosity_40, bore.viscosity_100)) > COLD_OIL
    )
