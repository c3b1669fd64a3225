"""What people know: the failed motor's nameplate, its blade, its site; the job they make."""

from airover.records.blade import Blade, Curve
from airover.records.job import Job
from airover.records.nameplate import Nameplate, poles_at
from airover.records.site import Site

__all__ = ["Blade", "Curve", "Job", "Nameplate", "Site", "poles_at"]
