"""Figures: each axis is in the unit of its label, and each line is the data that it stands for.

The same answer is drawn in both unit systems. Read back with the unit in the label of its axis, a
line has the same values in both.
"""

import re
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib import rcParams

from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.model.conditions import curve_of
from airover.model.expected import Expected, mounted
from airover.model.fan_at_site import FanSite, Sized, conditions_with, measured_system
from airover.model.heat_answer import HeatAnswer, HeatPlace
from airover.model.simulation import USUAL
from airover.records.catalog import read_catalog
from airover.records.fan import read_curve
from airover.records.job import Job
from airover.reports import bearings, heat, proposal_figures
from airover.reports.fan import FanPicture
from airover.reports.motor import AmpsPicture, MotorPicture
from airover.reports.palette import GRID
from airover.reports.proposal import make
from airover.reports.torque import TorquePicture
from airover.selection.answer import answer
from airover.selection.bearing_choice import BearingPlace, BearingStudy, prices

MOTORS = read_catalog(data_folder() / "catalogue.csv")
SYSTEMS = ("US", "SI")
# Each unit in SI units, by its definition: pound 0.45359237 kg, g 9.80665 m/s2, foot 0.3048 m.
POUND_FORCE = 0.45359237 * 9.80665
UNITS = {
    "N m": 1.0, "oz-ft": POUND_FORCE / 16 * 0.3048, "in-lb": POUND_FORCE * 0.0254,
    "W": 1.0, "hp": 550 * POUND_FORCE * 0.3048, "Pa": 1.0, "in. wg": 249.089,
    "m3/s": 1.0, "cfm": 0.3048**3 / 60, "m": 1.0, "ft": 0.3048, "mm": 1e-3, "in": 0.0254,
    "K": 1.0, "degC": 1.0, "degF": 1 / 1.8, "rpm": 1.0, "A": 1.0, "V": 1.0, "h": 1.0, "min": 1.0,
}  # fmt: skip
FIRST = {"degF": 32.0}  # reading at zero of the SI scale, for a temperature


@cache
def roof():
    return answer(Job.read(data_folder() / "jobs" / "roof-unit.toml"), MOTORS[:12])


@cache
def expected() -> Expected:
    motor = mounted(roof().job.nameplate)
    volts = motor.voltage_high
    sweep, now = motor.across(volts)
    return Expected(motor, volts, 1.0, 1.0, now, sweep)


@cache
def sized() -> Sized:
    curve = read_curve(data_folder() / "curves" / "example-blade.csv")
    place = FanSite(1060.0, 800.0, 38.0, dirt=1.5)
    conditions = conditions_with(curve, roof().job, 1.13)
    system = measured_system(1.13, 50.0, 0.7)
    return Sized.of(curve_of(curve), system, place, roof().job, conditions)


@cache
def hot() -> HeatAnswer:
    place = HeatPlace.of(roof().job, roof().fitting[0].case.motor)
    return HeatAnswer(place, place.usual)


@cache
def turning() -> BearingStudy:
    motor = roof().fitting[0].case.motor
    place = BearingPlace.of(roof().job, motor)
    return BearingStudy(place, place.usual, prices(motor, MOTORS))


PICTURES = {
    "torque": lambda writer: (TorquePicture(writer), roof().fitting[0]),
    "motor": lambda writer: (MotorPicture(writer), expected()),
    "fan": lambda writer: (FanPicture(writer), sized()),
    "heat": lambda writer: (heat.HeatPicture(writer), hot()),
    "bearings": lambda writer: (bearings.LifePicture(writer), turning()),
}


@cache
def drawn(name: str, system: str):
    """A picture with its lines at their places."""
    picture, shown = PICTURES[name](Writer("en", system))
    picture.set(shown)
    return picture


def unit_of(label: str) -> str:
    """The unit in the brackets of an axis label."""
    return re.search(r"\[([^\]]+)\]", label)[1]


def read(line, axes, differences="") -> np.ndarray:
    """The points of a line in SI units, read with the labels of its ``axes``.

    ``differences`` has the letters of the axes whose degrees are temperature differences.
    """
    points = np.array(line.get_xy() if hasattr(line, "get_xy") else line.get_xydata(), dtype=float)
    for at, (side, label) in enumerate((("x", axes.get_xlabel()), ("y", axes.get_ylabel()))):
        unit = unit_of(label)
        zero = 0.0 if side in differences else FIRST.get(unit, 0.0)
        points[:, at] = (points[:, at] - zero) * UNITS[unit]
    return points


# Picture, its axes, its lines, and the axes with temperature differences.
LINES = [
    ("torque", "axes", ("_fan", "_dot", "_motor"), ""),
    ("motor", "torque", ("_motor_band", "_motor_mid", "_fan", "_meet"), ""),
    ("fan", "pressure", (("_curves", 0), ("_measured", 0), ("_duties", 0)), ""),
    ("fan", "power", (("_curves", 1), ("_measured", 1), ("_duties", 1)), ""),
    ("heat", "room", (("_room_parts", 0), ("_room_parts", 1)), "y"),
    ("heat", "life", (("_life_parts", 0), ("_life_parts", 1)), ""),
    ("bearings", "weather", ("_of_ball", "_of_sleeve", "_mid_ball", "_mid_sleeve"), ""),
]


def lines_of(picture, name) -> list:
    """The lines of a picture by attribute, or by attribute and place in its list."""
    attribute, place = (name, None) if isinstance(name, str) else name
    found = getattr(picture, attribute)
    if place is not None:
        return [found[place]]
    return found if isinstance(found, list) else [found]


@pytest.mark.parametrize(("name", "axes", "names", "differences"), LINES)
def test_a_line_has_the_unit_of_its_axes_in_both_systems(name, axes, names, differences):
    both = []
    for system in SYSTEMS:
        picture = drawn(name, system)
        own = getattr(picture, axes)
        lines = [line for one in names for line in lines_of(picture, one)]
        assert all(len(line.get_xy()) if hasattr(line, "get_xy") else len(line.get_xdata())
                   for line in lines)  # fmt: skip
        both.append([read(line, own, differences) for line in lines])
    labels = [getattr(drawn(name, system), axes) for system in SYSTEMS]
    units = [(unit_of(one.get_xlabel()), unit_of(one.get_ylabel())) for one in labels]
    assert units[0] != units[1]
    for us, si in zip(*both, strict=True):
        np.testing.assert_allclose(us, si, rtol=1e-4, atol=1e-6)


def test_the_temperature_steps_are_on_the_scale_of_their_axis():
    for system in SYSTEMS:
        picture = drawn("heat", system)
        unit = unit_of(picture.stack.get_ylabel())
        scale = UNITS[unit], FIRST.get(unit, 0.0)
        tops = [(patch.get_xy()[2][1] - scale[1]) * scale[0] for patch in picture._parts]
        assert tops == pytest.approx([part.upto.mid for part in hot().study.budget], abs=0.01)
        low, high = (np.array(picture._whisker.get_ydata()) - scale[1]) * scale[0]
        assert (low, high) == pytest.approx((hot().hot_spot.low, hot().hot_spot.high), abs=0.01)
        rise = picture._rise_mid.get_xdata()[0] * UNITS[unit_of(picture.rise.get_xlabel())]
        assert rise == pytest.approx(hot().study.rise.mid, abs=0.01)


def test_the_torque_curves_cross_at_the_operating_point():
    """The motor's curve at the usual voltage meets the fan's where the answer says."""
    case, picture = roof().fitting[0].case, drawn("torque", "SI")
    ((speed, torque),) = read(picture._dot, picture.axes)
    assert speed == pytest.approx(case.speed_rpm.mid)
    newton_meters = np.median(case.simulation.solution.torque[USUAL, case.row])
    assert torque == pytest.approx(newton_meters)
    fan = read(picture._fan, picture.axes)
    curves = [read(line, picture.axes) for line in picture._motor]
    assert np.interp(speed, *fan.T) == pytest.approx(torque, rel=0.05)
    assert np.interp(speed, *curves[USUAL].T) == pytest.approx(torque, rel=0.1)
    peaks = [curve[:, 1].max() for curve in curves]  # torque rises with voltage
    assert peaks == sorted(peaks)
    legend = [text.get_text() for text in picture._legend.get_texts()]
    volts = [float(re.match(r"\d+", text)[0]) for text in legend]
    assert volts == sorted(volts, reverse=True) and volts[1] == round(case.conditions.voltage[1])


def test_the_amps_are_those_of_the_motor():
    on_phone = AmpsPicture()
    on_phone.set(expected(), _words(), "")
    for picture in (drawn("motor", "US"), on_phone):
        line = picture._mid if picture is on_phone else picture._amps_mid
        volts, amps = line.get_data()
        np.testing.assert_allclose(volts, expected().sweep.voltage)
        np.testing.assert_allclose(amps, expected().across["current_a"].mid)
        here, ends = picture._range.get_data()
        assert set(here) == {expected().voltage}
        assert tuple(ends) == (expected().current.low, expected().current.high)


def _drawn_as_svg(name: str):
    """A picture of the page, its SVG elements, and what turns its pixels into data."""
    picture = TorquePicture(Writer("en", "SI")) if name == "torque" else AmpsPicture()
    shown = [roof().fitting[0]] if name == "torque" else [expected(), _words(), "230 V: 2 A"]
    root = ElementTree.fromstring(picture.svg(*shown))
    paths = [one for one in root.iter() if one.tag.endswith("}path")]
    grid = [_points(one) for one in paths if f"stroke: {GRID}" in one.get("style", "")]
    axes, scales = picture.axes, []
    for at, (ticks, ends) in enumerate(
        ((axes.get_xticks(), axes.get_xlim()), (axes.get_yticks(), axes.get_ylim()))
    ):
        ticks = [one for one in ticks if ends[0] <= one <= ends[1]]
        places = [one[0, at] for one in grid if np.ptp(one[:, at]) == 0]
        scales.append(np.polynomial.Polynomial.fit(places, ticks, 1))
    return picture, root, scales


def _points(path) -> np.ndarray:
    """The points of a path of straight lines in an SVG."""
    return np.array(re.findall(r"[ML] (\S+) (\S+)", path.get("d")), dtype=float)


@pytest.mark.parametrize("name", ["torque", "amps"])
def test_an_svg_has_the_words_and_the_data_of_its_picture(name):
    picture, root, (to_x, to_y) = _drawn_as_svg(name)
    said = " ".join("".join(root.itertext()).split())
    for text in picture.axes.texts + [picture.axes.xaxis.label, picture.axes.yaxis.label]:
        if text.get_visible():
            assert all(line in said for line in text.get_text().split("\n") if line)
    line = picture._fan if name == "torque" else picture._mid
    x, y = line.get_data()
    span = np.ptp(picture.axes.get_xlim()), np.ptp(picture.axes.get_ylim())
    apart = []
    for path in (one for one in root.iter() if one.tag.endswith("}path")):
        points = _points(path)
        if len(points) > 2 and np.ptp(points[:, 0]) > 0:
            at, level = to_x(points[:, 0]), to_y(points[:, 1])
            ends = max(abs(at.min() - x[0]), abs(at.max() - x[-1])) / span[0]
            apart.append(max(ends, np.abs(level - np.interp(at, x, y)).max() / span[1]))
    assert min(apart) < 0.002, "no line of the SVG is the line of the picture"


def test_a_name_in_an_svg_is_text_whatever_it_contains(monkeypatch):
    name = 'A <b onload="x"> & $x$'
    picture, case = TorquePicture(), roof().fitting[0]
    monkeypatch.setattr(picture, "_word", lambda *names, **values: name)
    root = ElementTree.fromstring(picture.svg(case))
    assert name in [one.text for one in root.iter()]


def test_svgs_of_several_threads_are_the_same_and_change_no_setting():
    """Each page draws in its own thread, and all threads share the settings of matplotlib."""
    before, pictures = dict(rcParams), [AmpsPicture() for _ in range(4)]
    with ThreadPoolExecutor(len(pictures)) as threads:
        made = [threads.submit(one.svg, expected(), _words(), "230 V") for one in pictures]
    assert len({one.result() for one in made}) == 1 and dict(rcParams) == before


def _words() -> dict:
    return dict.fromkeys(("across", "up", "plate", "band", "low", "high"), "word [A]")


def test_the_fans_duty_point_is_that_of_the_answer():
    bands, picture = sized().bands, drawn("fan", "SI")
    for axes, at, name in (("pressure", 0, "pressure_pa"), ("power", 1, "power_shaft_w")):
        ((flow, level),) = read(picture._duties[at], getattr(picture, axes))
        assert flow == pytest.approx(bands["flow_m3s"].mid)
        assert level == pytest.approx(bands[name].mid)
    limit = read(picture._rating, picture.power)
    assert limit[:, 1] == pytest.approx(sized().size.standard.power)


def test_the_margin_and_the_life_are_those_of_the_answer():
    picture, across = drawn("heat", "SI"), hot().across
    for parts, axes, band in (
        (picture._room_parts, picture.room, across.margin),
        (picture._life_parts, picture.life, across.hours),
    ):
        line = read(parts[1], axes, "y")
        np.testing.assert_allclose(line[:, 0], across.temps_outdoor)
        ends = (0.0, heat.LONGEST_HOURS) if axes is picture.life else (-np.inf, np.inf)
        np.testing.assert_allclose(line[:, 1], np.clip(band.mid, *ends))
        outline = read(parts[0], axes, "y")[: len(line)]
        np.testing.assert_allclose(outline[:, 1], np.clip(band.low, *ends))


def test_bearing_hours_are_those_of_the_answer():
    picture, (temps, of_ball, of_sleeve) = drawn("bearings", "SI"), turning().across
    for line, band in ((picture._mid_ball, of_ball), (picture._mid_sleeve, of_sleeve)):
        points = read(line, picture.weather)
        np.testing.assert_allclose(points[:, 0], temps)
        inside = np.clip(band.mid, *picture.weather.get_ylim())
        np.testing.assert_allclose(points[:, 1], inside)
    names = [text.get_text() for text in picture.ends.get_yticklabels()]
    writer = Writer("en")
    for at, key in enumerate(bearings.ROWS):
        assert names[at] == writer(f"bearings.row.{key}")
        ends = np.clip(turning().bands[key], bearings.LEAST, bearings.LONGEST_HOURS)
        assert picture._bars[at].get_xdata()[1] == ends[2]
        assert picture._mids.get_xdata()[at] == ends[1]


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_proposals_temperatures_have_the_unit_of_their_axis(monkeypatch, system):
    """The dot and the limit of each option, and the costs, are those in the second page's words."""
    seen = {}
    for name in ("against_limit", "stacked"):
        draw = getattr(proposal_figures, name)

        def keep(given, across, name=name, draw=draw):
            seen[name] = given, draw(given, across).axes[0]
            return draw(given, across)

        monkeypatch.setattr(proposal_figures, name, keep)
    writer = Writer("en", system)
    from tests.business.test_proposal import COMPANY, DAY, costs, found

    name = "roof-unit"
    paper = make(found(name), COMPANY, costs(name), writer=writer, date=DAY, details=True)
    assert len(paper.content["pictures"]) == 2
    bars, axes = seen["against_limit"]
    sign = {"US": "°F", "SI": "°C"}[system]
    assert f"[{sign}]" in axes.get_xlabel() or sign in axes.get_xlabel()
    dots = [line.get_xdata()[0] for line in axes.lines if line.get_marker() == "o"]
    assert dots == [bar.value for bar in bars]
    for bar in bars:
        assert f"{bar.value:.0f}" in bar.word and sign in bar.word
        assert f"{bar.limit:.0f}" in bar.limit_word and sign in bar.limit_word
    stacks, axes = seen["stacked"]
    ends = {}
    for patch in axes.patches:
        place = round(patch.get_y() + patch.get_height() / 2)
        ends[place] = max(ends.get(place, 0.0), patch.get_x() + patch.get_width())
    totals = [sum(amount for _, amount in one.parts) for one in stacks]
    assert [ends[place] for place in sorted(ends, reverse=True)] == pytest.approx(totals)
