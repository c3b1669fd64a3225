"""The sample jobs: they read, say that they are invented, and show what they are meant to show."""

import pytest

from airover.core.files import data_folder
from airover.model.conditions import site_conditions
from airover.records import scope
from airover.records.catalog import read_catalog
from airover.records.job import Job

FOLDER = data_folder() / "jobs"
NAMES = ("roof-unit", "hot-court", "half-plate")


def job(name: str) -> Job:
    return Job.read(FOLDER / f"{name}.toml")


@pytest.mark.parametrize("name", NAMES)
def test_a_job_is_flagged_invented(name):
    assert job(name).invented
    assert "Example Air Service, Sampleton." in job(name).note
    first = (FOLDER / f"{name}.toml").read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# Fictional demonstration")


@pytest.mark.parametrize("name", NAMES)
def test_a_job_is_covered_by_the_method(name):
    assert scope.refusals(job(name)) == []


@pytest.mark.parametrize("name", NAMES)
def test_a_job_stays_itself_when_saved(name, tmp_path):
    job(name).save(tmp_path / "again.toml")
    assert Job.read(tmp_path / "again.toml") == job(name)


def test_the_roof_unit_is_complete_and_ordinary():
    plate, site = job("roof-unit").nameplate, job("roof-unit").site
    assert all(value not in (None, "") for _, value in plate)
    assert plate.warnings() == []
    # 45 000 Btu/h in 2400 cfm: 17.4 F by 1.08 x cfm x F (common practice), so 122.4 F, 50.2 degC
    rise = site.heat.mid / 0.29307 / (1.08 * site.airflow.mid / 4.7195e-4)
    leaving = site.outdoor_temperature.mid + rise / 1.8
    assert leaving == pytest.approx(50.2, abs=0.1)
    assert leaving < plate.ambient_rating.mid


def test_the_hot_court_is_hotter_than_any_motor_is_rated_for():
    motors = read_catalog(data_folder() / "catalogue.csv")
    highest = max(motor.ambient_rating for motor in motors)
    assert highest == 70
    # 122 F, at least 16 F of the neighbours' air, 48 000 / (1.08 x 2100) F through the coil
    assert (122 + 16 + 48000 / (1.08 * 2100) - 32) / 1.8 > highest
    air = site_conditions(job("hot-court"), samples=50).temp_air
    assert highest < air.min() and air.max() < 90  # the models' range


def test_half_of_the_plate_is_unreadable():
    plate = job("half-plate").nameplate
    lost = ("power", "insulation_class", "ambient_rating", "rotation_seen_from", "shaft_length")
    assert all(getattr(plate, name) is None for name in lost)
    kept = ("voltage", "current", "capacitor", "speed_rpm", "poles")
    assert all(getattr(plate, name) is not None for name in kept)
