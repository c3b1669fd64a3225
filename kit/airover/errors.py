"""Public import location of the package's exceptions."""

from airover.core.errors import InputError

__all__ = ["InputError"]
