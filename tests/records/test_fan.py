"""Points of a fan curve, typed or in a file, and every way to get them wrong."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.records.fan import HEADINGS, read_curve, read_points, with_units, written

EXAMPLE = data_folder() / "curves" / "example-blade.csv"
THREE = "0 cfm, 0.5 in. w.g., 290 W\n2,400 cfm; 0.2 inwg; 1/3 hp\n1200 cfm,0.4 inwg,280 W"


def test_the_example_has_ten_points_at_a_stated_speed_and_density():
    curve = read_curve(EXAMPLE)
    assert len(curve.flow) == 10 and curve.speed_rpm.mid == 1075
    assert curve.density.mid == pytest.approx(1.2014, rel=1e-4)
    assert curve.flow[5].mid == pytest.approx(2100 * 0.3048**3 / 60)


def test_what_is_written_reads_back():
    curve = read_curve(EXAMPLE)
    assert read_points(written(curve), "1075 rpm", "0.075 lb/ft3") == curve


def test_points_in_any_order_and_as_people_write_them():
    curve = read_points(THREE, "1075 rpm")
    assert [round(one.mid * 60 / 0.3048**3) for one in curve.flow] == [0, 1200, 2400]
    assert curve.power[2].mid == pytest.approx(248.57, rel=1e-4) and curve.density is None


@pytest.mark.parametrize(
    "text, said",
    [
        ("2400 cfm, 0.2 in. w.g., 210 W", "1 airflows, 1 pressures and 1 powers"),
        ("", "3 or more"),
        (f"{THREE}\n1200 cfm, 0.3 inwg, 200 W", "line 4, airflow: .*already appears on line 3"),
        (f"{THREE}\n1500 cfm, 0.3 inwg, -200 W", 'line 4, shaft power: "-200 W"'),
        (f"{THREE}\n1500 m3/s, 0.3 inwg, 200 W", "line 4, airflow: .*0 to 20 m3/s"),
        (f"{THREE}\n1500, 0.3 inwg, 200 W", "line 4, airflow: .*has no unit"),
        (f"{THREE}\n1500 cfm, 200 W", "curve line 4: .*an airflow, a pressure and a power"),
    ],
)
def test_bad_points_get_a_sentence(text, said):
    with pytest.raises(InputError, match=said):
        read_points(text, "1075 rpm")


@pytest.mark.parametrize("speed, density", [("", ""), ("fast", ""), ("1075 rpm", "75 lb/ft3")])
def test_bad_speed_or_density_is_named(speed, density):
    with pytest.raises(InputError, match="curve (speed|density)"):
        read_points(THREE, speed, density)


ROWS = "0,0.5,290,1075,0.075\n1200,0.4,280,,\n2400,0.2,250,1075,\n"


@pytest.mark.parametrize(
    "headings, rows, said",
    [
        (HEADINGS[:3] + ("speed [rpm]", "density"), ROWS, "density.* has no unit"),
        (("flow [cfm]", *HEADINGS[1:]), ROWS, '"airflow" is missing'),
        ((HEADINGS[0], *HEADINGS[:4]), ROWS, '"airflow" appears 2 times'),
        (("airflow [m3/s]", *HEADINGS[1:]), ROWS, "line 3, airflow: .*0 to 20 m3/s"),
        (HEADINGS, ROWS + "3000,0,200,825,\n", '"1075 rpm" and "825 rpm"'),
        (HEADINGS, ROWS + "3000,0,200\n", "line 5: this row has 3 cells"),
        (HEADINGS, ROWS + "3000,,200,,\n", "line 5, static pressure: nothing entered"),
        (HEADINGS, "", "no point"),
    ],
)
def test_bad_files_get_a_sentence(tmp_path, headings, rows, said):
    path = tmp_path / "blade.csv"
    path.write_text(f"{','.join(headings)}\n{rows}", encoding="utf-8")
    with pytest.raises(InputError, match=said):
        read_curve(path)


def test_a_file_may_state_speed_once_and_leave_density_out(tmp_path):
    path = tmp_path / "blade.csv"
    rows = "0,125,290,1075\n0.6,100,280,\n1.1,50,250,\n"
    headings = "airflow [m3/s],static pressure [Pa],shaft power [W],speed [rpm]"
    path.write_text(f"{headings}\n{rows}", encoding="utf-8")
    curve = read_curve(path)
    assert curve.pressure[1].mid == 100 and curve.density is None
    with pytest.raises(InputError, match="curve file"):
        read_curve(tmp_path / "absent.csv")


@given(st.text(max_size=200) | st.text("0123456789 .,;-/cfminWwg\n", max_size=200))
def test_any_text_is_read_or_refused(text):
    try:
        curve = read_points(text, "1075 rpm")
    except InputError as error:
        assert str(error).endswith(".") and "\n" not in str(error)
    else:
        assert len(curve.flow) >= 3


@given(st.binary(max_size=300) | st.text(",[]\ncfminWrp0123456789. ", max_size=200).map(str.encode))
def test_any_file_is_read_or_refused(tmp_path_factory, content):
    path = tmp_path_factory.getbasetemp() / "any.csv"
    head = ",".join(HEADINGS).encode() if len(content) % 2 else b""
    path.write_bytes(head + b"\n" + content)
    try:
        curve = read_curve(path)
    except InputError as error:
        assert "\n" not in str(error)
    else:
        assert len(curve.flow) >= 3


def test_points_without_units_get_the_readers_units():
    typed = "0, 0.4, .30\n1200 cfm, 0.35, .31\n\n2400\t0.2\t.28"
    assert with_units(typed, "US") == (
        "0 cfm, 0.4 in. wg, .30 hp\n1200 cfm, 0.35 in. wg, .31 hp\n\n2400 cfm, 0.2 in. wg, .28 hp"
    )
    assert with_units("4000, 50, 210", "SI") == "4000 m3/h, 50 Pa, 210 W"
    assert with_units("half a line, 3", "SI") == "half a line, 3"
    curve = read_points(with_units(typed, "US"), "1075 rpm")
    assert curve.power[0].mid == pytest.approx(0.3 * 745.7, rel=1e-4)
