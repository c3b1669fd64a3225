"""What people know: the failed motor's nameplate, its blade, its site; catalogues of motors."""

from airover.records.blade import Blade, Curve
from airover.records.catalogue import CatalogueMotor, read_catalogue
from airover.records.company import Company
from airover.records.cost_basis import CostBasis
from airover.records.customer import Customer, Finding
from airover.records.dates import Dates, Span
from airover.records.found import Found
from airover.records.job import Job
from airover.records.job_file import JobFile
from airover.records.measurements import Measurements, Moment
from airover.records.nameplate import Nameplate, poles_at
from airover.records.reading import Reading
from airover.records.site import Site
from airover.records.ticks import Ticks

__all__ = [
    "Blade",
    "CatalogueMotor",
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
    "Moment",
    "Nameplate",
    "Reading",
    "Site",
    "Span",
    "Ticks",
    "poles_at",
    "read_catalogue",
]
