"""Every function that works a question, by the name that the bank calls it."""

from airover.lesson import answers_fan

MODULES = (answers_fan,)
ANSWERS = {one.__name__: one for module in MODULES for one in module.ANSWERS}
