"""A motor of the catalog on the sample roof unit, for the tests of heat in time."""

from dataclasses import replace

from airover.core.files import data_folder
from airover.model.climate import Season, example_year
from airover.model.conditions import site_conditions
from airover.model.motor import Load, Motor
from airover.records.catalog import read_catalog
from airover.records.job import Job

DRAWS = 60
JOB = Job.read(data_folder() / "jobs" / "roof-unit.toml")
CATALOG = read_catalog(data_folder() / "catalogue.csv")
ROW = CATALOG[4]
MOTOR = Motor.from_catalog(ROW, DRAWS)  # class B, rated for 60 degC
ASKED = site_conditions(JOB, DRAWS)
LOAD = Load.of(ASKED)
VOLTAGE = float(ASKED.voltage[1])
YEAR = example_year()
SEASON = Season.of(YEAR)


def in_air(temp_air) -> Load:
    """The load in air of ``temp_air`` [degC] for every draw, without sun."""
    air = LOAD.air._replace(temp_air=0 * LOAD.air.temp_air + temp_air, sun=0.0)
    return LOAD._replace(air=air)


def of_class(letter) -> Motor:
    """The same motor with another insulation class, everything else being equal."""
    return replace(MOTOR, insulation_class=letter)
