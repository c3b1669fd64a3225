"""Step-by-step calculation of bearing loads, ball bearing life and sleeve bearing oil film.

The equations apply to the fan-end bearing. The lives of both bearings are combined at the end.
"""

import numpy as np

from airover.model.aging import LONGEST_HOURS
from airover.model.bearing_duty import ROTOR_GRADE, BearingDuty, Stand
from airover.model.bearing_life import (
    CLEANLINESS,
    F0,
    FATIGUE_SLOPE,
    GREASE_40,
    GREASE_100,
    GREASE_SLOPE,
    MEDIAN,
    ball,
    bore_of,
    fatigue,
    fatigue_over_l10,
    film,
    grease,
    over_median,
)
from airover.model.calculation import (
    ASSUMED,
    CALCULATED,
    CATALOG,
    CONSTANT,
    ENTERED,
    SOLVED,
    Section,
    Sheet,
    nearest_to_medians,
)
from airover.physics import ball_bearing, oil, unbalance
from airover.physics.air import GRAVITY
from airover.physics.bearing_loads import reactions

STATICS, ISO_BALANCE, ISO_281, BOOSER = "statics", "iso_21940", "iso_281", "booser"
DEFINITION, RAIMONDI, WEIBULL, HANDBOOK = "definition", "raimondi", "weibull", "handbook"


def bearings(
    stand: Stand, met: BearingDuty, size: ball_bearing.BearingSize, grade=None, mass_lost=0.0,
    discharge="up", cleanliness=CLEANLINESS, reliability=MEDIAN,
) -> tuple[Section, ...]:  # fmt: skip
    """Return the calculation for both bearing types in an installed motor.

    Parameters
    ----------
    stand : Stand
        Motor as installed.
    met : BearingDuty
        Bearing duty from `Stand.met`.
    size : ball_bearing.BearingSize
        Ball bearing size.
    grade : optional
        Balance grade [mm/s] that was used for ``met``.
    mass_lost : optional
        Missing mass [kg] that was used for ``met``.
    discharge : str, optional
        Discharge direction that was used for ``met``.
    cleanliness, reliability : optional
        Cleanliness and reliability, as in `bearing_life.ball`.
    """
    load, temp = met.each[0]
    found = fatigue(load, temp, met.speed_rpm, size, cleanliness)
    grease_near = grease(stand, met).lives[0]
    logs = (np.log(found.modified), np.log(grease_near), np.log(load.radial + 1e-9))
    chosen = nearest_to_medians(*logs, temp, met.speed_rpm, stand.span, stand.overhang)
    sheet = Sheet("bearings", len(stand.span), chosen)
    _loads(sheet, stand, met, stand.grade if grade is None else grade, mass_lost, discharge)
    _fatigue(sheet, met, size, found, cleanliness)
    _pair(sheet, stand, met, size, cleanliness, reliability)
    _grease(sheet, stand, met, size, cleanliness, reliability)
    _sleeve(sheet, stand, met)
    return sheet.sections


def _loads(sheet: Sheet, stand: Stand, met: BearingDuty, grade, mass_lost, discharge) -> None:
    """Add the radial and axial loads on the fan-end bearing."""
    load, horizontal = met.loads.blade, not met.vertical
    speed = met.speed_rpm * np.pi / 30
    sheet.begin("bearing_loads")
    sheet.given("n", met.speed_rpm, "rpm", CALCULATED)
    sheet.step("omega", "pi * n / 30", speed, "rad/s", DEFINITION)
    sheet.given("m_b", stand.blade_mass, "kg", ASSUMED, "mass")
    sheet.given("m_r", stand.rotor_mass, "kg", ASSUMED, "mass")
    sheet.given("G_b", np.asarray(grade) / 1000, "m/s", ENTERED)
    sheet.given("G_r", ROTOR_GRADE / 1000, "m/s", ASSUMED)
    equation = "m_b * G_b * omega"
    if mass_lost:
        sheet.given("m_lost", mass_lost, "kg", ENTERED)
        sheet.given("r_b", stand.blade_radius, "m", CALCULATED)
        equation += " + m_lost * r_b * omega**2"
    sheet.step("F_u", equation, met.force, "N", ISO_BALANCE, "force")
    rotor = unbalance.force(stand.rotor_mass, ROTOR_GRADE, met.speed_rpm)
    sheet.step("F_ur", "m_r * G_r * omega", rotor, "N", ISO_BALANCE, "force")
    sheet.given("a_b", stand.overhang, "m", ASSUMED)
    sheet.given("l_b", stand.span, "m", ASSUMED)
    sheet.step("F_rot", "F_u * (1 + a_b / l_b) + F_ur / 2", load.turning, "N", STATICS, "force")
    sheet.given("g", GRAVITY, "m/s2", CONSTANT)
    weights = GRAVITY * stand.blade_mass, GRAVITY * stand.rotor_mass
    sheet.step("W_b", "m_b * g", weights[0], "N", DEFINITION, "force")
    sheet.step("W_r", "m_r * g", weights[1], "N", DEFINITION, "force")
    radial = "F_rot"
    if horizontal:
        near = reactions(weights[0], stand.overhang, stand.span).blade + weights[1] / 2
        sheet.step("F_g", "W_b * (1 + a_b / l_b) + W_r / 2", near, "N", STATICS, "force")
        radial = "F_rot + F_g"
    sheet.step("F_r", radial, load.radial, "N", DEFINITION, "force")
    sheet.given("F_th", stand.thrust, "N", CALCULATED, "force")
    sign = "+" if discharge == "up" else "-"
    down = f"W_b + W_r {sign} F_th"
    lower = f"max({down}, 0)" if met.shaft_position == "down" else f"max(-({down}), 0)"
    sheet.step("F_a", "abs(F_th)" if horizontal else lower, load.axial, "N", STATICS, "force")


def _fatigue(sheet: Sheet, met: BearingDuty, size, found, cleanliness) -> None:
    """Add the equivalent load, lubrication and rating life of the fan-end ball bearing."""
    load, temp = met.each[0]
    pitch = size.diameter_pitch
    sheet.begin("ball_fatigue")
    sheet.given("C", size.load_rating, "N", CATALOG, "force")
    sheet.given("C_0", size.load_rating_static, "N", CATALOG, "force")
    sheet.given("f_0", F0, "", ASSUMED)
    relative = F0 * load.axial / size.load_rating_static
    sheet.step("x_a", "f_0 * F_a / C_0", relative, "", ISO_281)
    limit, factor = ball_bearing.axial_factors(relative)
    sheet.given("e", limit, "", CONSTANT)
    sheet.given("Y", factor, "", CONSTANT)
    axial = sheet.value("F_a") > sheet.value("e") * sheet.value("F_r")
    share = f"{ball_bearing.X_AXIAL:g}"
    equation = f"max(F_r, {share} * F_r + Y * F_a)" if axial else "F_r"
    sheet.step("P_eq", equation, found.alone, "N", ISO_281, "force")
    least = f"{ball_bearing.MINIMUM_LOAD_RATIO:g}"
    sheet.step("P", f"max(P_eq, {least} * C)", found.load, "N", HANDBOOK, "force")
    sheet.given("D_m", 1000 * pitch, "mm", CATALOG)
    required = 1e6 * ball_bearing.reference_viscosity(met.speed_rpm, pitch)
    slow = sheet.value("n") < 1000
    equation = "45000 * n**(-0.83)" if slow else "4500 * n**(-0.5)"
    sheet.step("nu_1", f"{equation} * D_m**(-0.5)", required, "mm2/s", ISO_281)
    viscosity = 1e6 * oil.oil_viscosity(temp, GREASE_40, GREASE_100)
    sheet.given("theta_b", temp, "degC", CALCULATED, "temperature")
    sheet.given("nu", viscosity, "mm2/s", ASSUMED)
    sheet.step("kappa", f"max(nu / nu_1, {ball_bearing.KAPPA.low:g})", found.kappa, "", ISO_281)
    c1, c2 = ball_bearing.CLEANLINESS[cleanliness]
    shown = f"{ball_bearing.KAPPA_TOP:g}"
    clean = f"min(1, {c1} * min(kappa, {shown})**0.68 * D_m**0.55)"
    equation = f"max({clean} * (1 - {c2} / cbrt(D_m)), 0)"
    sheet.step("e_C", equation, found.contamination, "", ISO_281)
    limit = ball_bearing.fatigue_load_limit(size.load_rating_static)
    sheet.step("C_u", "C_0 / 22", limit, "N", ISO_281, "force")
    sheet.step("a_ISO", _a_iso(sheet.value("kappa")), found.a_iso, "", ISO_281)
    basic = "1000000 / (60 * n) * (C / P)**3"
    sheet.step("L_10", basic, found.basic, "h", ISO_281, "hours")
    sheet.step("L_10mh", "a_ISO * L_10", found.modified, "h", ISO_281, "hours")


def _a_iso(kappa: float) -> str:
    """Return the expression for the life factor at a viscosity ratio (ISO 281:2007)."""
    film = (
        "2.2649 / kappa**0.054381" if kappa < 0.4
        else "1.9987 / kappa**0.19087" if kappa < 1
        else "1.9987 / min(kappa, 4)**0.071739"
    )  # fmt: skip
    inner = f"1 - max(2.5671 - {film}, 0)**0.83 * cbrt(e_C * C_u / P)"
    return f"min(0.1 * max({inner}, 0.2)**(-9.3), 50)"


def _pair(sheet: Sheet, stand: Stand, met: BearingDuty, size, cleanliness, reliability) -> None:
    """Add the fatigue life of both bearings at the requested reliability."""
    load, temp = met.each[1]
    other = fatigue(load, temp, met.speed_rpm, size, cleanliness)
    both = ball(stand, met, size, reliability, cleanliness)
    sheet.given("L_far", other.modified, "h", CALCULATED, "hours")
    sheet.given("a_1", fatigue_over_l10(reliability), "", CONSTANT)
    slope = f"{FATIGUE_SLOPE:g}"
    equation = f"a_1 * (L_10mh**(-{slope}) + L_far**(-{slope}))**(-1 / {slope})"
    sheet.step("L_fat", equation, both.fatigue, "h", WEIBULL, "hours")


def _grease(sheet: Sheet, stand: Stand, met: BearingDuty, size, cleanliness, reliability) -> None:
    """Add the grease life."""
    found = grease(stand, met)
    sheet.begin("grease")
    sheet.given("theta_b", met.temp.blade, "degC", CALCULATED, "temperature")
    sheet.given("S_g", found.halvings, "", ASSUMED)
    sheet.given("x_g", found.longer, "", ASSUMED)
    coldest = f"{ball_bearing.TEMP_GREASE_LOW:g}"
    equation = f"x_g * 10**(-2.6 + 2450 / (273 + max(theta_b, {coldest})) - 0.301 * S_g)"
    sheet.step("L_50", equation, found.lives[0], "h", BOOSER, "hours")
    sheet.given("L_50far", found.lives[1], "h", CALCULATED, "hours")
    sheet.given("beta_g", GREASE_SLOPE, "", CONSTANT)
    sheet.given("x_R", over_median(reliability, GREASE_SLOPE), "", CONSTANT)
    lives = ball(stand, met, size, reliability, cleanliness)
    equation = "x_R * (L_50**(-beta_g) + L_50far**(-beta_g))**(-1 / beta_g)"
    sheet.step("L_gr", equation, lives.grease, "h", WEIBULL, "hours")
    longest = f"{LONGEST_HOURS:.0f}"
    sheet.step("L_ball", f"min(L_fat, L_gr, {longest})", lives.hours, "h", DEFINITION, "hours")


def _sleeve(sheet: Sheet, stand: Stand, met: BearingDuty) -> None:
    """Add the oil film of the fan-end sleeve bearing with enough oil."""
    bore, found = bore_of(stand), film(stand, met).flooded
    sheet.begin("sleeve_film")
    sheet.given("d", bore.diameter, "m", CATALOG, "shaft_diameter")
    sheet.given("l", bore.length, "m", ASSUMED)
    sheet.given("c", bore.clearance, "m", ASSUMED)
    sheet.given("theta_oil", found.temp_oil, "degC", SOLVED, "temperature")
    sheet.given("mu", found.viscosity, "Pa s", ASSUMED)
    sheet.step("p_m", "F_r / (l * d)", found.pressure_mean, "Pa", DEFINITION)
    equation = "(d / (2 * c))**2 * mu * n / (60 * p_m)"
    sheet.step("S", equation, found.sommerfeld, "", RAIMONDI)
    sheet.given("epsilon", found.eccentricity_ratio, "", SOLVED)
    sheet.step("h_0", "c * (1 - epsilon)", found.film_thickness, "m", RAIMONDI)
    sheet.given("R_q", bore.roughness, "m", ASSUMED)
    sheet.step("Lambda", "h_0 / R_q", found.lambda_ratio, "", HANDBOOK)
    sheet.given("M_f", found.torque, "N m", CALCULATED)
    sheet.step("P_f", "M_f * omega", found.loss, "W", DEFINITION)
