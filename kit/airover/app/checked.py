"""Return the final values of a worksheet as plain text that nbval can compare."""

import numpy as np

from airover.business.cost_options import Drivers
from airover.business.life_cost import LifeCosts, cheaper
from airover.business.stock import StockStudy
from airover.core.texts import Writer
from airover.lesson.case import Lesson
from airover.lesson.fan_laws import FanLesson, Swept
from airover.model.expected import Expected
from airover.model.fan_at_site import Sized
from airover.model.heat_answer import HeatAnswer
from airover.model.motor import CapacitorStep
from airover.model.sizing import DirtSweep
from airover.selection.answer import Answer
from airover.selection.bearing_choice import BearingStudy
from airover.service.verification import Verified


def figures_of(answer: Answer, best: int = 3) -> dict[str, float]:
    """Return the requirements, the motor counts, and results for the ``best`` motors."""
    power, speed, torque, temp = (band.mid for band in answer.needed.values())
    figures = {
        "motors that fit": len(answer.fitting),
        "motors judged": len(answer.candidates),
        "shaft power [W]": power,
        "speed [rpm]": speed,
        "torque [N m]": torque,
        "air at the motor [degC]": temp,
    }
    for case in (one.case for one in answer.candidates[:best] if one.case.row is not None):
        figures[f"{case.motor.name}, current [A]"] = case.current.mid
        figures[f"{case.motor.name}, speed [rpm]"] = case.speed_rpm.mid
        figures[f"{case.motor.name}, input [W]"] = case.band("power_in_w").mid
        figures[f"{case.motor.name}, winding [degC]"] = case.winding.mid
    return figures


def figures_of_motor(expected: Expected, steps: tuple[CapacitorStep, ...]) -> dict[str, float]:
    """Return the expected values at the supply voltage, and the amps under other conditions."""
    low, mid, high = expected.current
    at = f"at {expected.voltage:.0f} V"
    figures = {
        f"current {at}, low end [A]": low,
        f"current {at} [A]": mid,
        f"current {at}, high end [A]": high,
        f"input {at} [W]": expected.bands["power_in_w"].mid,
        f"speed {at} [rpm]": expected.bands["speed_rpm"].mid,
        f"torque {at} [N m]": expected.bands["torque_nm"].mid,
        f"winding {at} [degC]": expected.bands["temp_winding_c"].mid,
        f"capacitor {at} [V]": expected.bands["capacitor_v"].mid,
    }
    for volts in expected.mounted.steps:
        place = np.searchsorted(expected.sweep.voltage, volts)
        figures[f"current at {volts:.0f} V [A]"] = expected.across["current_a"].mid[place]
    for step in steps:
        figures[f"current, {100 * step.share:.0f} % capacitor [A]"] = step.current.mid
    return figures


def figures_of_fan(found: Sized, sweep: DirtSweep) -> dict[str, float]:
    """Return a fan's operating point at its site, at two speeds, and with a dirty coil."""
    figures = {
        "airflow [m3/s]": found.bands["flow_m3s"].mid,
        "static pressure [Pa]": found.bands["pressure_pa"].mid,
        "shaft power [W]": found.bands["power_shaft_w"].mid,
        "torque [N m]": found.bands["torque_nm"].mid,
        "density of the air [kg/m3]": found.bands["density_kgm3"].mid,
        "power with its margin [W]": found.size.needed.mid,
        "rating [W]": found.size.standard.power,
        "power of a blocked coil [W]": found.overload.largest.mid,
    }
    for step in found.speeds:
        figures[f"shaft power at {step.speed_rpm:.0f} rpm [W]"] = step.bands["power_shaft_w"].mid
    for step in sweep.steps:
        at = f"coil {step.dirt:g} times"
        figures[f"{at}, airflow [m3/s]"] = step.bands["flow_m3s"].mid
        figures[f"{at}, current [A]"] = step.bands["current_a"].mid
        figures[f"{at}, winding [degC]"] = step.bands["temp_winding_c"].mid
    return figures


def figures_of_bearings(study: BearingStudy) -> dict[str, float]:
    """Return the bearing lives for each shaft position, with failure modes and oil film."""
    figures = {}
    for name, both in study.positions.items():
        blade = both.met.loads.blade
        figures[f"shaft {name}, across at the blade [N]"] = float(np.median(blade.radial))
        figures[f"shaft {name}, ball, low end [h]"] = both.ball.low
        figures[f"shaft {name}, ball, high end [h]"] = both.ball.high
        figures[f"shaft {name}, sleeve, low end [h]"] = both.sleeve.low
        figures[f"shaft {name}, sleeve, high end [h]"] = both.sleeve.high
    films = study.film.flooded
    return figures | {
        "bearing at the blade [degC]": float(np.median(study.met.temp.blade)),
        "ball: fatigue [1000 h]": study.bands["ball: fatigue"].mid / 1000,
        "sleeve: oil [h]": study.bands["sleeve: oil"].mid,
        "sleeve: thrust washer [h]": study.bands["sleeve: wear of the thrust washer"].mid,
        "balance with its loss, as grade [mm/s]": study.as_grade,
        "narrowest gap [um]": 1e6 * float(np.median(films.film_thickness)),
        "static safety in a transport shock": study.ball.safety,
    }


def figures_of_heat(answer: HeatAnswer) -> dict[str, float]:
    """Return temperatures and margins, and results for a hot day, a locked rotor and class F."""
    study, locked, classes = answer.study, answer.locked, answer.place.classes
    levels = {f"up to {part.name} [degC]": part.upto.mid for part in study.budget}
    return levels | {
        "hottest spot, low end [degC]": answer.hot_spot.low,
        "hottest spot, high end [degC]": answer.hot_spot.high,
        "room to the class [K]": study.margin.mid,
        "average rise by resistance [K]": study.rise.mid,
        "room to the standard's rise [K]": study.rise_margin.mid,
        "room to a protector [K]": float(np.median(answer.room)),
        "life without pause [h]": study.hours.mid,
        "years in the usual year, low end": answer.years.low,
        "hottest average of the day [degC]": float(
            np.median(answer.day.history.average.max(axis=0))
        ),
        "blade blocked, trips after [s]": locked.time_to_trip.mid,
        "blade blocked, hottest [degC]": locked.peak.mid,
        "class F for 70 degC, more room [K]": classes.more_margin.mid,
        "class F for 70 degC, times the life": classes.times.mid,
        "3500 m against sea level [K]": answer.place.heights[-1].together.mid,
    }


def figures_of_lesson_fan(lesson: FanLesson) -> dict[str, float]:
    """Return the results at both ends of each slider and with the motors swapped."""
    figures = _ends("speed", lesson.speed) | _ends("blocked", lesson.blocked)
    for (rpm, poles), fitted in lesson.fitted.items():
        where = f"{poles} poles on the {rpm:.0f} rpm blade"
        figures[f"{where}, speed [rpm]"] = fitted.bands["speed"].mid
        figures[f"{where}, current [A]"] = fitted.bands["current"].mid
        figures[f"{where}, winding [degC]"] = fitted.bands["winding"].mid
    return figures | _ends("height", lesson.height)


def _ends(step: str, swept: Swept) -> dict[str, float]:
    """Return each value at the first and last slider positions."""
    units = {"flow": "m3/s", "pressure": "Pa", "power": "W", "current": "A"}
    figures = {}
    for name in swept.figures:
        for place in (swept.start, len(swept.at) - 1):
            told = f"{step}, {name} at {swept.at[place]:g} [{units.get(name, 'degC')}]"
            figures[told] = swept.at_step(name, place).mid
    return figures


def figures_of_cost(costed: LifeCosts, deciding: Drivers, best: int = 3) -> dict[str, float]:
    """Return the initial and life-cycle costs of the ``best`` motors, and the deciding inputs.

    Fractions of the samples are rounded to whole percentages because they change in steps.
    """
    figures = {"years": costed.horizon, "motors with a price": len(costed.costs)}
    for cost in costed.costs[:best]:
        figures[f"{cost.name}, today [{cost.currency}]"] = float(cost.today.mean())
        figures[f"{cost.name}, expected [{cost.currency}]"] = cost.mean
        figures[f"{cost.name}, low end [{cost.currency}]"] = cost.band.low
        figures[f"{cost.name}, high end [{cost.currency}]"] = cost.band.high
        figures[f"{cost.name}, electricity [kWh a year]"] = cost.energy.mid
        figures[f"{cost.name}, no failure [%]"] = round(100 * cost.untroubled)
    one, other = costed.costs[:2]
    figures["the first costs less than the second [%]"] = round(100 * cheaper(one, other))
    for driver in deciding.drivers[:best]:
        figures[f"swing by {Writer()(driver.name)} [{deciding.currency}]"] = driver.swing
    return figures


def figures_of_stock(found: StockStudy) -> dict[str, float]:
    """Return the call counts, the calls that the truck completes, and the budget curve.

    Fractions are rounded to whole percentages because another platform may find a different plan
    within the optimality gap of HiGHS.
    """
    checked, matched = found.confirmed, found.matched
    ways = {"forecast": checked.forecast, "replayed": checked.replayed}
    figures = {
        "calls": len(found.calls),
        "distinct needs": len(matched.needs),
        "needs outside the method": len(matched.refused),
        "kinds of motors worth stocking": found.goods.motors,
        "sizes of capacitors": len(found.goods.sizes),
        "calls that any motor does for [%]": round(100 * found.reach),
        "calls of unseen kinds [%]": round(100 * checked.unseen),
        "fixed, of the calls planned by [%]": round(100 * found.plan.fixed),
    }
    for way, band in ways.items():
        for name, end in band._asdict().items():
            figures[f"fixed, {way}, {name} [%]"] = round(100 * float(end))
    for at, (one, two) in enumerate(zip(found.plans, found.single, strict=True), 1):
        figures[f"curve, point {at}, all motors [%]"] = round(100 * one.fresh)
        figures[f"curve, point {at}, one rating [%]"] = round(100 * two.fresh)
    return figures


def figures_of_verified(found: Verified) -> dict[str, float]:
    """Return expected and inferred values, fault probabilities and the next reading."""
    figures = {"open [bit]": found.open_bits, "chance, as expected": found.chance_expected}
    for one in found.judged:
        if one.against == "expected":
            figures[f"{one.name}, expected from"] = one.low
            figures[f"{one.name}, expected to"] = one.high
    for name, band in found.bands.items():
        figures[f"{name}, low end"], figures[f"{name}, high end"] = band.low, band.high
    for one in sorted(found.findings):
        figures[f"chance, {one.key}"] = round(one.chance, 2)
    if found.next:
        figures[f"read next {found.next[0].name}, share of the variance"] = found.next[0].share
    return figures


def figures_of_choices(lesson: Lesson) -> dict[str, float]:
    """Return the results for each motor in a classroom case."""
    figures = {"motors to choose from": len(lesson.motors), "best choices": len(lesson.best)}
    for motor in lesson.motors:
        outcome, name = lesson.choose(motor.name), motor.model
        figures[f"{name}, current [A]"] = outcome.case.current.mid
        figures[f"{name}, winding [degC]"] = outcome.case.winding.mid
        figures[f"{name}, checks that fail"] = len(outcome.failed)
        figures[f"{name}, works to do"] = len(outcome.needed)
        for part, years in outcome.lives.items():
            figures[f"{name}, {part}, low end [years]"] = years.low
    return figures
