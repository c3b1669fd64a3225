"""airover: replacing the fan motor of an outdoor air-conditioning unit.

Names that a notebook needs:

>>> from airover import Job, answer, read_catalog

Ten rooms, each importing only those above it: `core`, `physics`, `records`, `model`, `selection`,
`service`, `business`, `reports`, `lesson`, `app`.
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
    """A public name, from its room when it is first asked for: some rooms take a second to load."""
    if name not in _PUBLIC:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_PUBLIC[name]}"), name)
