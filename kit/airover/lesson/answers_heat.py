"""Questions on winding heat, insulation, thin and hot air, and the values of usual slips."""

from airover.choose.load import winding_limit
from airover.lesson.worked import Worked
from airover.physics import coil, fan, heat, insulation

DEGREES_F_PER_K = 1.8
FREEZING_F = 32.0


def rise_by_resistance(resistance_cold, resistance_hot, temp_cold, temp_air) -> Worked:
    """Average rise [K] of a winding over its air, from ohms cold and hot."""
    rise = float(heat.rise_by_resistance(resistance_cold, resistance_hot, temp_cold, temp_air))
    slips = {"over_cold": rise + temp_air - temp_cold, "temperature": rise + temp_air}
    shown = {
        "celsius": (rise + temp_air, ""),
        "cold_celsius": (temp_cold, ""),
        "air_celsius": (temp_air, ""),
        "ratio": (resistance_hot / resistance_cold, ""),
    }
    return Worked(rise, slips, shown)


def ohms_at_limit(resistance_cold, temp_cold, letter) -> Worked:
    """Ohms at the highest average winding temperature of a class."""
    limit, rise = winding_limit(letter), float(insulation.rise_limit(letter))
    value, of_rise = (
        resistance_cold * float(heat.resistance_factor(temp, temp_cold)) for temp in (limit, rise)
    )
    ratio = value / resistance_cold
    return Worked(value, {"of_rise": of_rise, "cold": resistance_cold}, {
        "limit": (limit, "temperature"), "rise": (rise, "temperature_rise"), "ratio": (ratio, ""),
    })  # fmt: skip


def insulation_hours(letter, cooler, interval) -> Worked:
    """Hours of a class whose hottest spot stays ``cooler`` [K] than the class temperature."""
    index = float(insulation.temperature_index(letter))

    def hours(below):
        return float(insulation.life(index - below, letter, interval))

    times = cooler / interval
    slips = {"shorter": hours(-cooler), "once": hours(interval), "straight": hours(0) * (1 + times)}
    shown = {
        "start": (hours(0), "hours"),
        "times": (times, ""),
        "spot": (index - cooler, "temperature"),
    }
    return Worked(hours(cooler), slips, shown)


def allowed_rise(rise, temp_air) -> Worked:
    """The rise that is left in hotter air, of the class that has ``rise`` [K] in air of 40 degC."""
    letter = min("ABFH", key=lambda one: abs(float(insulation.rise_limit(one)) - rise))
    value = float(insulation.rise_limit(letter, temp_ambient=temp_air))
    over = temp_air - insulation.RISE_AMBIENT
    return Worked(
        value, {"unchanged": rise, "added": rise + over}, {"over": (over, "temperature_rise")}
    )


def difference(difference) -> Worked:
    """A difference of temperatures in the other unit, where 32 has no place."""
    shift = FREEZING_F / DEGREES_F_PER_K
    return Worked(difference, {"less": difference - shift, "plus": difference + shift})


def altitude_rise(rise, elevation) -> Worked:
    """The rise [K] that is allowed at a height, of the one allowed at sea level."""
    value = rise * float(insulation.altitude_factor(elevation))
    from_sea = rise * (1 - insulation.ALTITUDE_LOSS * elevation)
    above = (elevation - insulation.ALTITUDE_FREE, "elevation")
    return Worked(value, {"from_sea": from_sea, "unchanged": rise}, {"above": above})


def power_in_thin_air(power, density, density_new) -> Worked:
    """Shaft power [W] of a blade in air of another density."""
    ratio = density_new / density
    slips = {"cube": power * ratio**3, "inverse": power / ratio, "unchanged": power}
    value = fan.scale(1.0, 1.0, power, density_ratio=ratio).power
    return Worked(float(value), slips, {"ratio": (ratio, "")})


def coil_air(heat_flow, flow, temp_outdoor) -> Worked:
    """Temperature [degC] of the air that leaves the coil."""
    leaving = float(coil.leaving_temperature(heat_flow, flow, temp_outdoor))
    rise = leaving - temp_outdoor
    slips = {
        "weather": temp_outdoor,
        "cooler": temp_outdoor - rise,
        "too_many": temp_outdoor + DEGREES_F_PER_K * rise,
        "too_few": temp_outdoor + rise / DEGREES_F_PER_K,
    }
    return Worked(leaving, slips, {"rise": (rise, "temperature_rise")})


ANSWERS = (
    rise_by_resistance, ohms_at_limit, insulation_hours, allowed_rise, difference, altitude_rise,
    power_in_thin_air, coil_air,
)  # fmt: skip
