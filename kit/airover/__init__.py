"""airover: fan motor replacement in outdoor air-conditioning units.

A notebook imports names from this package:

>>> from airover import Job, answer, read_catalog

The package has ten subpackages, called rooms. Each room imports only from the rooms listed before
it: `core`, `physics`, `records`, `model`, `selection`, `service`, `business`, `reports`, `lesson`,
`app`.
"""

from importlib import import_module

__version__ = "0.1.0"

_PUBLIC = {
    "Job": "records.job",
    "read_catalog": "records.catalog",
    "answer": "selection.answer",
    "Motor": "model.motor",
    "simulate": "model.simulation",
    "verify": "service.verification",
    "life_cost": "business.life_cost",
}
__all__ = list(_PUBLIC)


def __getattr__(name: str):
    """Import a public name on first use, because some subpackages take a second to load."""
    if name not in _PUBLIC:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_PUBLIC[name]}"), name)
