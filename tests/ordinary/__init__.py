"""A bench of ordinary jobs: what a competent person of the trade expects of each, and a score.

``python -m tests.ordinary`` makes every job from today's catalog and from lists of ordinary
nameplates, answers it, and prints the score by kind with the worst misses. ``--sample 60`` takes
some of each kind, ``--kind twins`` one kind, ``--thorough`` every twin at every voltage.
``test_ordinary.py`` runs a fixed sample. An answer takes about a second, the three documents of
a job about ten: the whole bench needs half an hour.

The bench calls only what the kit promises to others: `airover.selection.answer.answer`,
`airover.records.Job`, `airover.records.read_catalog`, the command line and its exit codes, and
the headings of the catalog file. No job names a motor: when the catalog changes, so do the jobs.

Kinds of jobs
    twins      a catalog motor has failed: the same motor replaces it
    several    a one-rating motor has failed: a motor of several ratings replaces it
    ordinary   nameplates of the trade, from three legible facts to all, 115 to 575 V
    doubtful   a nameplate that was misread: ask, don't refuse
    hard       too hot, too low or too high a voltage, and just within the limit
    neighbors  one volt, 0.01 A, 1 degF or another seed beside a job
    documents  `work`, `order` and `proposal` of one job name one motor

How to add a job
    One more job of a kind: add a row to a list in ``jobs.py``, such as `DOUBTFUL`.
    A new kind: write a function in ``jobs.py`` that returns `OrdinaryJob`s, and enter it in
    `KINDS`. A job has a title in one line, the tables of a job file as they would be typed, and
    its expectations. An expectation is data: the name of a judge, what the judge compares with,
    and the reason in words of the trade. Write the reason before you look at the answer.
    A new expectation: write a judge in ``score.py`` that returns None when it is met, else what
    came instead; enter it in `JUDGES` with the share of jobs that has to meet it, and give
    ``test_score.py`` one answer that it must accept and one that it must not.

The expectations are common practice, without a source, unless the reason names one.
"""
