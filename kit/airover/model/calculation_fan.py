"""Step-by-step calculation for a fan: air, system, operating point and motor rating."""

import numpy as np

from airover.core.errors import InputError
from airover.model.calculation import (
    ASSUMED,
    CALCULATED,
    CATALOG,
    CONSTANT,
    ENTERED,
    MEASURED,
    SOLVED,
    Section,
    Sheet,
    nearest_to_medians,
)
from airover.model.fan_at_site import Sized
from airover.model.sizing import MARGIN
from airover.physics import air, fan

FAN_LAWS, SYSTEM, IDEAL_GAS, DEFINITION = "fan_laws", "system", "moist_air", "definition"
STANDARD_AIR, PRACTICE = "iso_2533", "practice"


def fan_at_site(found: Sized) -> tuple[Section, ...]:
    """Return the calculation for a fan at its site and for the required motor rating."""
    duty = found.duty
    chosen = nearest_to_medians(duty.flow, duty.pressure, duty.power, duty.density)
    sheet = Sheet("fan", len(duty.flow), chosen)
    _air(sheet, found)
    _system(sheet, found)
    _point(sheet, found)
    _rating(sheet, found)
    return sheet.sections


def _air(sheet: Sheet, found: Sized) -> None:
    """Add the air pressure and density at the fan."""
    pressure = air.standard_pressure(found.place.elevation)
    sheet.begin("air")
    sheet.given("z", found.place.elevation, "m", ENTERED, "elevation")
    height = f"{air.LAPSE_RATE} * z / {air.TEMP_SEA_LEVEL}"
    sheet.given("p_sea", air.PRESSURE_SEA_LEVEL, "Pa", CONSTANT)
    exponent = f"{air.STANDARD_EXPONENT:.6g}"
    sheet.step("p_B", f"p_sea * (1 - {height})**{exponent}", pressure, "Pa", STANDARD_AIR)
    sheet.given("theta_air", found.temp_air, "degC", CALCULATED, "air_temperature")
    sheet.given("p_v", found.vapour, "Pa", CALCULATED)
    sheet.given("R_air", air.GAS_CONSTANT_DRY_AIR, "J/kgK", CONSTANT)
    share = f"{1 - air.VAPOUR_TO_AIR:.6g}"
    equation = f"(p_B - {share} * p_v) / (R_air * (theta_air + 273.15))"
    sheet.step("rho", equation, found.duty.density, "kg/m3", IDEAL_GAS, "density")


def _system(sheet: Sheet, found: Sized) -> None:
    """Add the resistance of the coil, guard and cabinet at this air density."""
    system, place = found.system, found.place
    others = sum((np.asarray(part, dtype=float) for part in system.others), start=0.0)
    sheet.begin("system")
    origin = ASSUMED if np.ndim(system.coil) else ENTERED  # samples if not measured
    sheet.given("k_coil", system.coil, "Pa s2/m6", origin)
    sheet.given("k_others", others, "Pa s2/m6", origin)
    sheet.given("d", place.dirt, "", ENTERED)
    sheet.given("rho_k", system.density, "kg/m3", ENTERED, "density")
    resistance = system.resistance(found.duty.density, place.dirt)
    sheet.step("K", "(d * k_coil + k_others) * rho / rho_k", resistance, "Pa s2/m6", SYSTEM)


def _point(sheet: Sheet, found: Sized) -> None:
    """Add the operating point, and the corresponding point on the measured curve."""
    duty, points = found.duty, found.points
    speed, density = found.place.speed_rpm / points.speed_rpm, duty.density / points.density
    own = fan.scale(duty.flow, duty.pressure, duty.power, 1 / speed, 1, 1 / density)
    sheet.begin("operating_point")
    sheet.given("n", found.place.speed_rpm, "rpm", ENTERED)
    sheet.given("n_0", points.speed_rpm, "rpm", MEASURED)
    sheet.given("rho_0", points.density, "kg/m3", MEASURED, "density")
    sheet.given("q", duty.flow, "m3/s", SOLVED, "flow")
    sheet.step("p", "K * q**2", duty.pressure, "Pa", SYSTEM, "pressure")
    sheet.step("q_0", "q * n_0 / n", own.flow, "m3/s", FAN_LAWS, "flow")
    laws = "p * rho_0 / rho * (n_0 / n)**2"
    sheet.step("p_0", laws, own.pressure, "Pa", FAN_LAWS, "pressure")
    sheet.given("P_0", _read_power(found, own), "W", MEASURED, "power")
    sheet.step("P", "P_0 * rho / rho_0 * (n / n_0)**3", duty.power, "W", FAN_LAWS, "power")
    sheet.step("omega", "pi * n / 30", duty.speed_rpm * np.pi / 30, "rad/s", DEFINITION)
    sheet.step("T", "P / omega", duty.torque, "N m", DEFINITION, "torque")
    sheet.step("P_air", "p * q", duty.pressure * duty.flow, "W", DEFINITION)
    sheet.step("eta_s", "P_air / P", duty.pressure * duty.flow / duty.power, "", DEFINITION)


def _read_power(found: Sized, own: fan.FanPoint):
    """Return the shaft power [W] on the curve at the measured speed and density.

    If the operating point is outside the measured range, or if the curve has scatter, the fan laws
    give this power from the calculated operating point.
    """
    points = found.points
    if found.duty.extrapolated or points.scatter.power:
        return own.power
    try:
        return points.at(own.flow, points.speed_rpm, points.density).power
    except InputError:  # a flow at the end of the curve, after rounding
        return own.power


def _rating(sheet: Sheet, found: Sized) -> None:
    """Add the required power with margin, and the load on the selected rating."""
    power = found.size.standard.power
    sheet.begin("rating")
    margin = f"{1 + MARGIN:g}"
    sheet.step("P_req", f"{margin} * P", (1 + MARGIN) * found.duty.power, "W", PRACTICE, "power")
    sheet.given("P_N", power, "W", CATALOG, "power")
    sheet.step("x_load", "P / P_N", found.duty.power / power, "", DEFINITION)
    sheet.step("x_spare", "P_N / P - 1", power / found.duty.power - 1, "", DEFINITION)
