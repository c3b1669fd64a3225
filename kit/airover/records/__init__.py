"""What people know: the failed motor's nameplate, its blade, its site; catalogues of motors."""

from airover.records.blade import Blade, Curve
from airover.records.catalogue import CatalogueMotor, read_catalogue
from airover.records.company import Company
from airover.records.customer import Customer, Finding
from airover.records.cost_basis import CostBasis
from airover.records.cost_basis import CostBasis
from airover.records.job import Job
from airover.records.nameplate import Nameplate, poles_at
from airover.records.reading import Reading
from airover.records.site import Site

__all__ = [
    "Blade",
    "CatalogueMotor",
    "CostBasis",
    "CostBasis",
    "Company",
    "Curve",
    "Customer",
    "Finding",
    "Job",
    "Nameplate",
    "Reading",
    "Site",
    "poles_at",
    "read_catalogue",
]
