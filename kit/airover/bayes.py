"""Bayes' rule for one of several causes, and what a question would tell."""

import numpy as np


def posterior(prior, likelihoods):
    """Chances of the causes after what was seen; shape (..., causes).

    ``prior`` (..., causes) need not add up to 1; ``likelihoods`` (..., findings, causes) say how
    likely each finding is under each cause. Findings count as independent once the cause is known
    (naive Bayes; Mitchell, Machine Learning, 1997, section 6.9). Raises ArithmeticError where no
    cause can give the findings.
    """
    chances = np.asarray(prior) * np.prod(likelihoods, axis=-2)
    total = chances.sum(axis=-1, keepdims=True)
    if not np.all(total > 0):
        raise ArithmeticError("no cause can give all of these findings together")
    return chances / total


def entropy(chances):
    """Uncertainty [bit] of ``chances`` along their last axis, which add up to 1."""
    chances = np.asarray(chances)
    return -np.sum(chances * np.log2(np.where(chances > 0, chances, 1.0)), axis=-1)


def information(chances, table):
    """Bits that the answer to a question is expected to tell about the cause.

    ``chances`` (causes,) add up to 1; ``table`` (causes, answers), each row adds up to 1. The gain
    is that of Mitchell, Machine Learning, 1997, section 3.4.1.
    """
    joint = np.asarray(chances)[:, None] * np.asarray(table)
    of_answers = joint.sum(axis=0)
    seen = of_answers > 0
    left = entropy((joint[:, seen] / of_answers[seen]).T)
    return float(entropy(chances) - np.sum(of_answers[seen] * left))
