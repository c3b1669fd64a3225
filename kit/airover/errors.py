"""Errors under the name that programs of others import."""

from airover.core.errors import InputError as InputError
