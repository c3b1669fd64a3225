"""Input records: nameplate, fan, site, catalog, readings and service calls."""

from airover.records.catalog import CatalogMotor, read_catalog
from airover.records.company import Company, CostBasis
from airover.records.fan import Blade, Curve
from airover.records.fields import Dates, Span
from airover.records.found import Found
from airover.records.job import Customer, Finding, Job, JobFile, Site, Ticks
from airover.records.nameplate import Nameplate, poles_at
from airover.records.readings import Measurements, Reading, ReadingMoment

__all__ = [
    "Blade",
    "CatalogMotor",
    "Company",
    "CostBasis",
    "Curve",
    "Customer",
    "Dates",
    "Finding",
    "Found",
    "Job",
    "JobFile",
    "Measurements",
    "Nameplate",
    "Reading",
    "ReadingMoment",
    "Site",
    "Span",
    "Ticks",
    "poles_at",
    "read_catalog",
]
