"""Temperatures read on the running motor narrow what is known of its cooling.

The samples of motor and load are weighed as pairs by what a reading says: the winding by its
resistance, the shell by a thermocouple. What stays is a band that is narrower and just as honest.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws
from airover.errors import InputError, part
from airover.identify import resample
from airover.limits import TEMP_AIR, TEMP_WINDING, VOLTAGE, Range, check
from airover.message import Message
from airover.motor.narrow import FAR, STRAINED, picked
from airover.motor.one import DRAWS, Load, Motor
from airover.motor.warm import Warm
from airover.physics import heat
from airover.physics.cooling_curve import SwitchOff

# Deviations of readings; common practice, no source.
OHMMETER = 0.003  # share, of the cold resistance; a meter's own slope cancels out
TEMP_COLD = 1.0  # K, how well the cold winding's temperature is known
TEMP_AIR_READ = 1.0  # K, of a thermometer in the air before the motor
THERMOCOUPLE = 1.5  # K, of class 2 (IEC 60584, 2.5 K at the most, from memory, not verified)
DEVIATION = Range(0.1, 50.0, "K")
CONTACT = 0.05  # share of the shell's rise that tape and air may take from a thermocouple


class Measured(NamedTuple):
    """A temperature [degC] that was read, ``temp``, and its ``deviation`` [K]."""

    temp: float
    deviation: float


class HeatReading(NamedTuple):
    """What was read once the motor was warm, at ``voltage`` [V] in air of ``temp_air`` [degC] at
    the motor: the main ``winding``, the ``shell``, or both."""

    voltage: float
    temp_air: float
    winding: Measured | None = None
    shell: Measured | None = None


def winding_by_resistance(
    resistance_cold, temp_cold, switch_off: SwitchOff, material="copper"
) -> Measured:
    """Average of a winding from its ``resistance_cold`` [ohm] at ``temp_cold`` [degC] and what
    cooling_curve.at_switch_off found, ``switch_off``.

    ``material`` as in heat.rise_by_resistance. Both resistances are of the same winding by the
    same meter. Raises InputError out of range, and where the hot one is the lower one.
    """
    hot, cold = (
        switch_off.resistance_hot,
        float(check("resistance_cold", resistance_cold, heat.OHM)),
    )
    if hot <= cold:
        accepted = Message("error.heat.below_hot", resistance=f"{hot:.4g} ohm")
        raise InputError("resistance_cold", f"{cold:.4g}", accepted, "ohm")
    temp = float(heat.rise_by_resistance(cold, hot, temp_cold, 0.0, material))
    per_ohm = (heat.INTERCEPT[material] + temp_cold) / cold
    ohms = np.hypot(switch_off.standard_error, hot * OHMMETER)
    return Measured(temp, float(np.hypot(per_ohm * ohms, hot / cold * TEMP_COLD)))


def shell_by_thermocouple(temp_shell, temp_air) -> Measured:
    """The shell's ``temp_shell`` [degC] by a taped thermocouple, in air of ``temp_air`` [degC].

    The further from the air, the less sure: the wire and the stream cool the junction. Raises
    InputError out of range.
    """
    temp = float(check("temp_shell", temp_shell, TEMP_WINDING))
    rise = temp - float(check("temp_air", temp_air, TEMP_AIR))
    return Measured(temp, float(np.hypot(THERMOCOUPLE, CONTACT * rise)))


class HeatFit(NamedTuple):
    """Draws of ``motor`` and ``load`` that agree with the readings.

    ``before`` and ``after`` are bands of the winding's average [degC] at the first reading;
    ``strained`` are those readings that hardly go with the rest; ``chosen`` are the numbers of
    the samples that were kept.
    """

    motor: Motor
    load: Load
    before: Band
    after: Band
    strained: tuple[HeatReading, ...]
    chosen: np.ndarray


def fitted(motor: Motor, load: Load, readings, samples=DRAWS) -> HeatFit:
    """The ``samples`` pairs of ``motor`` and ``load`` that agree best with ``readings``.

    Give many more samples of motor and load than are asked for, in one order; each of the
    HeatReadings was taken on this load, warm. Raises InputError out of range, without readings,
    and for a reading that none of the pairs could give.
    """
    if not readings:
        raise InputError("readings", Message("error.nothing"), Message("error.heat.reading"))
    warm = [_warm(motor, load, reading, number) for number, reading in enumerate(readings)]
    away = [_misses(*pair) for pair in zip(warm, readings, strict=True)]
    for reading, misses in zip(readings, away, strict=True):
        _refuse_far(reading, misses)
    log_weight = -0.5 * sum(miss**2 for misses in away for miss in misses.values())
    chosen = resample(log_weight[None], samples)[0]
    winding = warm[0].temp_winding[0]
    return HeatFit(
        *picked(motor, load, chosen),
        before=_band(winding),
        after=_band(winding[chosen]),
        strained=tuple(
            reading
            for reading, misses in zip(readings, away, strict=True)
            if any(abs(np.median(miss[chosen])) > STRAINED for miss in misses.values())
        ),
        chosen=chosen,
    )


def _warm(motor: Motor, load: Load, reading: HeatReading, number: int) -> Warm:
    """The warm samples, each with its own error of the air's thermometer."""
    voltage = float(check("voltage", reading.voltage, VOLTAGE))
    rng = np.random.default_rng([number, 9])
    off = normal_draws(rng, ("air",), len(motor.rated.power))["air"]
    temp = check("temp_air", reading.temp_air, TEMP_AIR) + TEMP_AIR_READ * off
    return motor.run(load._replace(air=load.air._replace(temp_air=temp)), voltage).warm


def _misses(warm: Warm, reading: HeatReading) -> dict:
    """How far each sample lies from what was read, in deviations."""
    found = {"winding": warm.nodes.winding_main[0], "shell": warm.nodes.shell[0]}
    read = {name: getattr(reading, name) for name in found}
    known = {name: one for name, one in read.items() if one is not None}
    if not known:
        given, accepted = Message("error.heat.neither"), Message("error.plate.one_of_two")
        raise InputError("readings", given, accepted)
    return {
        name: (found[name] - one.temp) / float(check("deviation", one.deviation, DEVIATION))
        for name, one in known.items()
    }


def _refuse_far(reading: HeatReading, away: dict) -> None:
    """Raise InputError where no sample gives a temperature, or none gives both together."""
    volts, air = f"{reading.voltage:.4g} V", f"{reading.temp_air:.4g} degC"
    at = Message("error.heat.at", voltage=volts, temp=air)
    for name, miss in away.items():
        if np.min(np.abs(miss)) > FAR:
            accepted = Message(f"error.heat.{'hotter' if np.min(miss) > 0 else 'cooler'}")
            read = f"{getattr(reading, name).temp:.4g} degC"
            raise InputError(part(at, Message(f"error.heat.{name}")), read, accepted)
    if np.min(np.max(np.abs(list(away.values())), axis=0)) > FAR:
        given, accepted = Message("error.heat.not_both"), Message("error.heat.one_moment")
        raise InputError(at, given, accepted)


def _band(samples) -> Band:
    return Band(*map(float, Band.of(samples)))
