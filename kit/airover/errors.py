"""Errors under the name that other programs import."""

from airover.core.errors import InputError

__all__ = ["InputError"]
