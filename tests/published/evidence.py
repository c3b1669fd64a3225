"""Published measurements compared with the kit's 90 % ranges: `worksheets/guide/evidence.md`.

``python -m tests.published.evidence`` writes the page from evidence.toml. The ranges are calculated
by the kit as it is, with 1000 samples and seed 0. Nothing is fitted to the figures.
"""

import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.stats import spearmanr

from airover.core.intervals import Band, log_normal, normal_draws, uniform
from airover.model import conditions, identify
from airover.model.aging import HALVING_INTERVAL
from airover.model.motor import Load, Motor
from airover.model.simulation import USUAL, MotorOnFan, breakdown_torque, simulate
from airover.physics import insulation
from airover.physics.circuit import CapacitorRun, Saturation
from airover.physics.fan import POWER_OF_BLADES, POWER_OF_PITCH, changed_fan
from airover.physics.operating_point import settle
from airover.records.catalog import read_catalog
from airover.records.job import Job

from ..jobs import HORSEPOWER, job

DATA = Path(__file__).with_name("evidence.toml")
PAGE = Path(__file__).parents[2] / "worksheets/guide/evidence.md"
SAMPLE = Path(__file__).parents[2] / "data"
SAMPLES = 1000
CFM, INCH, TON = 0.3048**3 / 60, 0.0254, 3516.85
REJECTED = 1.28  # heat rejected / cooling, common practice
DIAMETER = 27.6 * INCH
EFFICIENCY = {6: (0.50, 0.60), 8: (0.42, 0.54)}  # of motors near 1/8 hp, common practice
WORDS = {
    "read": "read",
    "repeated": "read in an open copy",
    "memory": "from memory, not verified",
    "earlier": "calculated earlier from the data, not checked again",
}


class Row(NamedTuple):
    """One published figure beside the kit's answer.

    Attributes
    ----------
    subject : str
        Heading of the table.
    what, unit : str
        Quantity and its unit.
    figure : float
        Published figure.
    ours : Band
        The kit's 90 % range.
    source : str
        Key of the source in evidence.toml.
    counted : bool
        False for a figure that is no measurement of such a motor or fan.
    """

    subject: str
    what: str
    unit: str
    figure: float
    ours: Band
    source: str
    counted: bool = True

    @property
    def inside(self) -> bool:
        return bool(self.ours.low <= self.figure <= self.ours.high)

    @property
    def verdict(self) -> str:
        if self.inside:
            return "inside"
        return "outside, kit too high" if self.figure < self.ours.low else "outside, kit too low"


@cache
def data() -> dict:
    """Return the published figures."""
    return tomllib.loads(DATA.read_text(encoding="utf-8"))


@cache
def rows() -> tuple[Row, ...]:
    """Return all figures with the kit's ranges."""
    makers = (
        fans,
        inputs,
        units,
        propellers,
        exponents,
        motors,
        observed,
        gridlabd_points,
        lives,
        efficiencies,
    )
    return tuple(row for maker in makers for row in maker())


def draws(*names) -> dict:
    return normal_draws(np.random.default_rng(0), names, SAMPLES)


def fans() -> Iterator[Row]:
    """Airflow from the shaft power and the fan diameter."""
    z = draws("efficiency", "airflow")
    for fan in data()["fans"]:
        power = fan["watts"] * uniform(EFFICIENCY[fan["poles"]], z["efficiency"])
        flow = conditions.usual_airflow(power, fan["rpm"], DIAMETER, z["airflow"]) / CFM
        what = f"airflow, 27.6 in. fan, {fan['rpm']} rpm, {fan['watts']} W motor input"
        yield Row("Condenser fans", what, "cfm", fan["cfm"], Band.of(flow), fan["source"])


def inputs() -> Iterator[Row]:
    """Motor input from a 1/8 hp nameplate, with different fans."""
    none = ("site__airflow", "site__heat", "site__elevation", "nameplate__current")
    known = {"nameplate__power": "1/8 hp", "nameplate__speed": "1100 rpm"}
    site = {"blade__diameter": "27.6 in", "site__outdoor_temperature": "80 degF"}
    one = job(**dict.fromkeys(none), **known, **site)
    load = Load.of(conditions.site_conditions(one, SAMPLES))
    run = Motor.from_nameplate(one.nameplate, SAMPLES).run(load, 230.0)
    watts = Band.of(run.figures()["power_in_w"][0])
    for fan in data()["inputs"]:
        what = f"motor input, 1/8 hp, 6 poles, {fan['what']}"
        yield Row("Condenser fans", what, "W", fan["watts"], watts, fan["source"])


def units() -> Iterator[Row]:
    """Airflow, temperature rise and static efficiency that are assumed without data."""
    z = draws("rise", "efficiency")
    rise = log_normal(conditions.COIL_RISE, z["rise"])
    heat = 3 * TON * REJECTED
    ours = {
        "cfm": Band.of(heat / (1.2014 * 1006 * rise) / CFM),
        "K": Band.of(rise),
        "%": Band.of(100 * uniform(conditions.STATIC_EFFICIENCY, z["efficiency"])),
    }
    for unit in data()["units"]:
        yield Row(
            "Condenser fans",
            unit["what"],
            unit["unit"],
            unit["figure"],
            ours[unit["unit"]],
            unit["source"],
        )


def propellers() -> Iterator[Row]:
    """Power and pressure after a change of the number of blades, at no forward speed.

    At rest, the propeller's own momentum flow is the system: thrust is proportional to flow squared.
    """
    found = data()["propeller"]
    for old, new in ((2, 3), (3, 4)):
        change = changed_fan(1.0, 1.0, 100.0, blades=old, blades_new=new)
        for before, after in zip(found[str(old)], found[str(new)], strict=True):
            speed = round(np.mean([before[0], after[0]]), -3)
            for name, column, ours in (
                ("thrust (pressure)", 1, change.pressure),
                ("shaft power", 2, change.power.scaled(0.01)),
            ):
                what = f"{name} ratio, {old} to {new} blades, {speed:.0f} rpm"
                ratio = after[column] / before[column]
                yield Row("Fan blades", what, "", ratio, Band(*ours), found["source"])


def exponents() -> Iterator[Row]:
    """Exponents of shaft power, which the kit samples as ranges."""
    names = {
        "blades": ("number of blades", POWER_OF_BLADES),
        "pitch": ("blade pitch", POWER_OF_PITCH),
    }
    for one in data()["exponents"]:
        name, ours = names[one["of"]]
        what = f"exponent of shaft power vs. {name}"
        yield Row("Fan blades", what, "", one["figure"], Band(*ours), one["source"])


class Published(NamedTuple):
    """A published motor at its rating, and functions of voltage and slip.

    Attributes
    ----------
    name, source : str
        Name on the page; key of the source.
    poles : int
        Number of poles.
    voltage, frequency, slip : float
        Rating [V, Hz].
    capacitance : float
        Run capacitor [F].
    R1, R_aux, turns_ratio : float
        Winding resistances [ohm] and ratio.
    solve : Callable
        Returns current [A], torque [N m], capacitor voltage [V] and input [W].
    """

    name: str
    source: str
    poles: int
    voltage: float
    frequency: float
    slip: float
    capacitance: float
    R1: float
    R_aux: float
    turns_ratio: float
    solve: object

    def speed(self, slip):
        """Return the speed [rad/s]."""
        return (1 - slip) * 4 * np.pi * self.frequency / self.poles

    def on_fan(self, share_of_torque, voltage):
        """Return the solution with a fan that needs a share of the rated torque at rated speed."""
        rated = self.solve(self.voltage, self.slip)[1]
        fan = share_of_torque * rated / self.speed(self.slip) ** 2

        def excess(slip):
            return self.solve(voltage, slip)[1] - fan * self.speed(slip) ** 2

        return self.solve(voltage, brentq(excess, 1e-4, 1.5 * self.slip))


def textbook(motor: dict) -> Published:
    """Return a motor of evidence.toml, solved with the kit's linear circuit."""
    frequency = motor.get("frequency", 60.0)
    synchronous = 4 * np.pi * frequency / motor["poles"]
    circuit = CapacitorRun(
        **{k: motor[k] for k in ("poles", "R1", "X1", "R2", "X2", "Xm", "turns_ratio")},
        **{k: motor[k] for k in ("R_aux", "X_aux", "capacitance")},
        frequency=frequency,
        core_conductance=motor["core"] / motor["voltage"] ** 2,
        friction=motor["friction"] / ((1 - motor["slip"]) * synchronous) ** 2,
    )

    def solve(voltage, slip):
        at = circuit.balance(voltage, frequency, slip)
        return abs(at.current), at.torque, abs(at.voltage_capacitor), at.power_in

    names = ("name", "source", "poles", "voltage")
    rest = {k: motor[k] for k in ("slip", "capacitance", "R1", "R_aux", "turns_ratio")}
    return Published(**{k: motor[k] for k in names}, **rest, frequency=frequency, solve=solve)


def gridlabd(voltage, slip, saturated=True):
    """Return GridLAB-D's steady state per unit: current, torque, capacitor voltage, input, flux.

    The equations are those of ``SPIMSteadyState``. The flux is not raised above the knee if
    ``saturated`` is False.
    """
    g = data()["gridlabd"]
    omega = 120 * np.pi
    coupling, time = g["Xm"] / g["Xr"], omega * g["To"]
    level = 1.0
    for _ in range(500):
        forward = g["Xm"] / 2 / (1j * slip * time + level)
        backward = g["Xm"] / 2 / (1j * (2 - slip) * time + level)
        both, apart = forward + backward, forward - backward
        n = g["n"]
        # windings d and q: V = Z I + j (Xm/Xr) (flux that links the winding)
        matrix = np.array(
            [
                [1j * g["Xd"] + g["Rds"] + 1j * coupling * both, coupling * n * apart],
                [
                    -coupling * n * apart,
                    1j * (g["Xq"] + g["Xc"]) + g["Rqs"] + 1j * coupling * n**2 * both,
                ],
            ]
        )
        main, aux = np.linalg.solve(matrix, [voltage, voltage])
        one, other = main - 1j * n * aux, main + 1j * n * aux
        fluxes = forward * one, backward * other
        flux = np.hypot(*np.abs(fluxes))
        wanted = 1 + g["A_sat"] * max(flux - g["b_sat"], 0.0) ** 2 if saturated else 1.0
        if abs(wanted - level) < 1e-12:
            break
        level += 0.3 * (wanted - level)
    pairs = ((one / 2, fluxes[0], 1), (other / 2, fluxes[1], -1))
    torque = 2 * coupling * sum(sign * (i * np.conj(f)).imag for i, f, sign in pairs)
    line = main + aux
    return abs(line), torque, abs(aux) * abs(g["Xc"]), (voltage * np.conj(line)).real, flux


def gridlabd_motor() -> Published:
    """Return GridLAB-D's motor in V, A and W at its default torque."""
    g = data()["gridlabd"]
    volts, base = g["voltage"], g["power"] / g["voltage"]
    ohm, torque = volts / base, g["power"] / (120 * np.pi)

    def solve(voltage, slip):
        current, shaft, capacitor, power, _ = gridlabd(voltage / volts, slip)
        return current * base, shaft * torque, capacitor * volts, power * g["power"]

    slip = brentq(lambda s: gridlabd(1.0, s)[1] - g["torque"], 1e-3, 0.06)
    capacitance = 1 / (120 * np.pi * -g["Xc"] * ohm)
    resistances = g["Rds"] * ohm, g["Rqs"] * ohm
    named = g["name"], g["source"], 2, volts, 60.0, slip
    return Published(*named, capacitance, *resistances, g["n"], solve)


def published_motors() -> Iterator[Published]:
    yield from map(textbook, data()["motors"])
    yield gridlabd_motor()


def motors() -> Iterator[Row]:
    """Ten quantities of each published motor, from the nameplate that it would have.

    The nameplate gives volts, hertz, poles, output, amps to 0.1 A, speed to 5 rpm and microfarads.
    """
    for motor in published_motors():
        amps, torque, capacitor, power = motor.solve(motor.voltage, motor.slip)
        output = torque * motor.speed(motor.slip)
        synchronous = 120 * motor.frequency / motor.poles
        printed = identify.Ratings(
            motor.voltage,
            motor.frequency,
            motor.poles,
            output,
            round(amps, 1),
            5 * round(synchronous * (1 - motor.slip) / 5),
            motor.capacitance,
            np.nan,
        )
        kit = identify.ensemble(printed, SAMPLES).rearranged(lambda x: x[0])
        locked = kit.circuit.balance(kit.voltage, motor.frequency, 1.0)
        idle = kit.circuit.balance(kit.voltage, motor.frequency, 0.002)
        rated = kit.at_rating()
        peak = breakdown_torque(kit.circuit, kit.voltage, motor.frequency)

        def on(share, voltage, kit=kit):
            fan = share * kit.coefficient
            point = settle(kit.circuit, voltage * kit.voltage, kit.circuit.frequency, fan)
            return abs(point.solution.current)

        theirs = max(motor.solve(motor.voltage, s)[1] for s in np.linspace(0.02, 0.6, 117))
        standing = motor.solve(motor.voltage, 1.0)
        for what, unit, figure, ours in (
            ("main winding resistance", "ohm", motor.R1, kit.circuit.R1),
            ("auxiliary winding resistance", "ohm", motor.R_aux, kit.circuit.R_aux),
            ("auxiliary to main turns", "", motor.turns_ratio, kit.circuit.turns_ratio),
            ("capacitor voltage", "V", capacitor, abs(rated.voltage_capacitor)),
            ("efficiency", "%", 100 * output / power, 100 * rated.power_out / rated.power_in),
            ("breakdown torque / rated torque", "", theirs / torque, peak / rated.torque),
            ("locked-rotor amps, run capacitor", "A", standing[0], abs(locked.current)),
            ("starting torque / rated torque", "", standing[1] / torque, locked.torque / rated.torque),
            ("no-load amps", "A", motor.solve(motor.voltage, 0.002)[0], abs(idle.current)),
            ("amps with a fan at 2/3 of rated torque", "A", motor.on_fan(2 / 3, motor.voltage)[0], on(2 / 3, 1)),
            ("amps at 110 % voltage", "A", motor.on_fan(1, 1.1 * motor.voltage)[0], on(1, 1.1)),
        ):  # fmt: skip
            subject = "Motors from their nameplates"
            yield Row(subject, f"{motor.name}: {what}", unit, figure, Band.of(ours), motor.source)


def observed() -> Iterator[Row]:
    """Readings of a motor at its rating, from the rest of its nameplate without the rpm."""
    for motor in data()["observed"]:
        main, aux = (
            motor[k] * np.exp(1j * np.radians(motor[f"{k}_angle"])) for k in ("main", "aux")
        )
        line, unknown = main + aux, np.nan
        across = abs(aux) / (2 * np.pi * motor["frequency"] * motor["capacitance"])
        # The windings differ only in their turns, so their impedances are in the ratio squared.
        behind = motor["voltage"] + 1j * across * aux / abs(aux)
        turns = np.sqrt(abs(behind / aux) / abs(motor["voltage"] / main))
        plate = *(motor[k] for k in ("voltage", "frequency", "poles", "power")), round(abs(line), 1)
        ratings = identify.Ratings(*plate, unknown, motor["capacitance"], unknown)
        kit = identify.ensemble(ratings, SAMPLES).rearranged(lambda x: x[0])
        rated = kit.at_rating()
        taken = motor["voltage"] * line.real
        for what, unit, figure, ours in (
            ("power factor", "", np.cos(np.angle(line)), rated.power_in / abs(rated.current) / kit.voltage),
            ("efficiency", "%", 100 * motor["power"] / taken, 100 * rated.power_out / rated.power_in),
            ("main winding amps", "A", abs(main), abs(rated.current_main)),
            ("auxiliary winding amps", "A", abs(aux), abs(rated.current_aux)),
            ("capacitor voltage", "V", across, abs(rated.voltage_capacitor)),
            ("auxiliary to main turns", "", turns, kit.circuit.turns_ratio),
        ):  # fmt: skip
            subject = "Motors from their nameplates"
            yield Row(
                subject, f"{motor['name']}: {what}", unit, figure, Band.of(ours), motor["source"]
            )


def gridlabd_circuit(slip) -> CapacitorRun:
    """Return GridLAB-D's motor [ohm] as a circuit, with the kit's range of saturation."""
    g = data()["gridlabd"]
    ohm = g["voltage"] ** 2 / g["power"]
    mutual = g["Xm"] ** 2 / g["Xr"]
    linear = CapacitorRun(
        poles=2,
        frequency=60.0,
        R1=g["Rds"] * ohm,
        X1=(g["Xd"] + mutual - g["Xm"]) * ohm,
        R2=g["Xr"] / (120 * np.pi * g["To"]) * ohm,
        X2=(g["Xr"] - g["Xm"]) * ohm,
        Xm=g["Xm"] * ohm,
        turns_ratio=g["n"],
        R_aux=g["Rqs"] * ohm,
        X_aux=(g["Xq"] + g["n"] ** 2 * (mutual - g["Xm"])) * ohm,
        capacitance=1 / (120 * np.pi * -g["Xc"] * ohm),
        core_conductance=0.0,
        friction=0.0,
    )
    z = draws("share", "exponent", "knee")
    emf = linear.balance(g["voltage"], 60.0, slip).emf
    share = uniform(identify.SATURATION_SHARE, z["share"])
    curve = Saturation(
        share,
        uniform(identify.SATURATION_EXPONENT, z["exponent"]),
        emf / uniform(identify.SATURATION_KNEE, z["knee"]),
    )
    return linear.changed(Xm=linear.Xm * (1 - share), **curve._asdict())


def gridlabd_points() -> Iterator[Row]:
    """GridLAB-D's motor with its own saturation at 15 points, the kit with its range of curves."""
    g = data()["gridlabd"]
    circuit = gridlabd_circuit(gridlabd_motor().slip)
    base = g["power"] / g["voltage"]
    for volts in g["voltages"]:
        for slip in g["slips"]:
            current, torque, capacitor, *_ = gridlabd(volts, slip)
            at = circuit.balance(volts * g["voltage"], 60.0, slip)
            speed = 120 * np.pi / g["power"]
            found = [("line current", current, abs(at.current) / base)]
            if volts == 1.0:
                found += [
                    ("torque", torque, at.torque * speed),
                    ("capacitor voltage", capacitor, abs(at.voltage_capacitor) / g["voltage"]),
                ]
            for what, figure, ours in found:
                what = f"{what} at {100 * volts:.0f} % voltage, slip {slip:g}"
                subject = "Saturation of a known circuit"
                yield Row(subject, what, "per unit", figure, Band.of(ours), g["source"])


def lives() -> Iterator[Row]:
    """Insulation life by published rules."""
    interval = uniform(HALVING_INTERVAL, draws("interval")["interval"])
    for one in data()["insulation"]:
        hours = insulation.life(one["temperature"], one["class"], interval)
        what = f"life of class {one['class']} insulation at {one['temperature']:g} degC"
        yield Row("Insulation", what, "h", one["hours"], Band.of(hours), one["source"])


def efficiencies() -> Iterator[Row]:
    """Efficiency from horsepower, volts and rpm alone, beside a legal minimum of other motors."""
    for one in data()["efficiency"]:
        unknown = np.nan
        plate = (230.0, 60.0, 6, one["hp"] * HORSEPOWER, unknown, 1075.0, unknown, unknown)
        kit = identify.ensemble(identify.Ratings(*plate), SAMPLES).rearranged(lambda x: x[0])
        rated = kit.at_rating()
        what = f"full-load efficiency, {one['hp']:.2g} hp, 6 poles, legal minimum"
        ours = Band.of(100 * rated.power_out / rated.power_in)
        yield Row("Efficiency", what, "%", one["percent"], ours, one["source"], counted=False)


@cache
def simulated() -> dict[str, MotorOnFan]:
    """Return the simulation of one motor for each sample job."""
    catalog = {motor.name: motor for motor in read_catalog(SAMPLE / "catalogue.csv")}
    return {
        name: simulate(Job.read(SAMPLE / f"jobs/{name}.toml"), (catalog[motor],), SAMPLES)
        for name, motor in data()["temperature"]["jobs"].items()
    }


def explained(simulation: MotorOnFan) -> dict[str, float]:
    """Return the part of the variation of the winding temperature that each reading explains."""
    at = simulation.solution
    readings = {
        "shell temperature": simulation.temp_shell[USUAL, 0],
        "input watts": at.power_in[USUAL, 0],
        "running amps": abs(at.current[USUAL, 0]),
        "speed": at.speed_rpm[USUAL, 0],
        "air temperature at the motor": simulation.conditions.temp_air,
        "air speed at the motor": simulation.conditions.air_speed,
    }
    winding = simulation.temp_winding[USUAL, 0]
    return {name: spearmanr(read, winding).statistic ** 2 for name, read in readings.items()}


def lesson(row: Row) -> str:
    """Return the explanation of a miss: the first lesson that names it, or an empty text."""
    found = (one["text"] for one in data()["lessons"] if one["of"] in row.what)
    return next(found, "")


def share(chosen) -> tuple[int, int]:
    """Return how many of the counted figures lie inside their ranges, and how many there are."""
    counted = [row.inside for row in chosen if row.counted]
    return sum(counted), len(counted)


def page() -> str:
    """Return the text of the page."""
    sources = list(data()["sources"])
    subjects = list(dict.fromkeys(row.subject for row in rows()))
    parts = [HEAD, "## Summary\n", _summary(subjects)]
    for subject in subjects:
        parts += [f"\n## {subject}\n", data()["subjects"][subject].strip() + "\n", TABLE]
        parts += [_line(row, sources) for row in rows() if row.subject == subject]
    parts += ["\n## What the misses show\n", "| figures outside | lesson |\n| --- | --- |"]
    for text in dict.fromkeys(lesson(row) for row in rows() if not row.inside):
        missed = sum(not row.inside and lesson(row) == text for row in rows())
        about = next(one["of"] for one in data()["lessons"] if one["text"] == text)
        parts.append(f"| {missed}, {about} | {text} |")
    parts += ["\n## What the winding temperature is based on\n", *_temperature()]
    parts += ["\n## What is missing\n", data()["missing"]["text"].strip(), "\n## Sources\n"]
    for number, (key, source) in enumerate(data()["sources"].items(), 1):
        used = " Some ranges in the kit are based on this source." if source["used"] else ""
        status = WORDS[source["confidence"]]
        inside, total = share(row for row in rows() if row.source == key)
        counted = f" Figures inside: {inside} of {total}." if total else " Not counted."
        told = f"{source['title']}; {source['where']}. Status: {status}."
        parts.append(f"{number}. {told}{counted}{used}")
    return "\n".join(parts) + "\n"


HEAD = """<!-- Generated by python -m tests.published.evidence. Change tests/published/evidence.toml instead. -->

# Measured evidence

This page compares figures published by others with the answers from airover. The 90 % ranges are
calculated with the current version of the kit. No range was changed to include a figure, and
figures outside their ranges are still listed. A test recalculates this page.

Only the figures for the first two subjects come from measurements on fans and propellers. The other
figures are calculated from published circuits or taken from published rules. A figure is
*independent* if no range in the kit is based on its source. Other figures show only that a range
contains the data from which it was derived.
"""
TABLE = (
    "| figure | published | kit, 90 % range | result | source |\n| --- | ---: | ---: | --- | ---: |"
)


def _summary(subjects) -> str:
    lines = ["| subject | figures | inside | independent figures | inside |"]
    lines.append("| --- | ---: | ---: | ---: | ---: |")
    for name in (*subjects, "all"):
        chosen = [row for row in rows() if name in (row.subject, "all")]
        free = [row for row in chosen if not data()["sources"][row.source]["used"]]
        cells = []
        for some in (chosen, free):
            inside, total = share(some)
            cells += [str(total), f"{inside} ({100 * inside / total:.0f} %)" if total else "-"]
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return "\n".join(lines)


def _temperature() -> Iterator[str]:
    told = data()["temperature"]
    yield told["text"].strip() + "\n"
    yield "| job, motor | winding, degC | without the rating, degC |\n| --- | ---: | ---: |"
    for (name, motor), one in zip(told["jobs"].items(), simulated().values(), strict=True):
        shown = []
        for temps in (one.temp_winding[USUAL, 0], one.winding_without_rating([0])[0]):
            low, mid, high = Band.of(temps)
            shown.append(f"{mid:.0f} ({low:.0f}-{high:.0f})")
        yield f"| {name}, {motor} | {' | '.join(shown)} |"
    yield f"\n| reading | {' | '.join(told['jobs'])} |\n| --- |{' ---: |' * len(told['jobs'])}"
    parts = [explained(one) for one in simulated().values()]
    for name in parts[0]:
        yield f"| {name} | {' | '.join(f'{100 * part[name]:.0f} %' for part in parts)} |"
    yield "\n" + told["reading"].strip()


def _line(row: Row, sources) -> str:
    unit = f" {row.unit}" if row.unit else ""
    digits = 4 if row.unit == "per unit" else 3
    figure, low, mid, high = (_shown(x, digits) for x in (row.figure, *row.ours))
    verdict = row.verdict + ("" if row.counted else ", not counted")
    number = sources.index(row.source) + 1
    return f"| {row.what} | {figure}{unit} | {mid}{unit} ({low}-{high}) | {verdict} | {number} |"


def _shown(value: float, digits: int) -> str:
    whole = max(digits - 1 - int(np.floor(np.log10(value))), 0)
    return f"{float(f'{value:.{digits}g}'):,.{whole}f}"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
