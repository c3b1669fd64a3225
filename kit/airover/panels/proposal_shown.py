"""What motors cost over the years, and the proposal, in pieces of HTML for their panel."""

from dataclasses import dataclass, field, replace
from functools import cached_property

from airover.answer import CAUTIONS, Answer
from airover.cost.drivers import Drivers, drivers
from airover.cost.life_cost import LifeCost, LifeCosts, cheaper, difference
from airover.cost.options import Choices, choices
from airover.figures import cost as figures_cost
from airover.figures import drawing
from airover.message import Message
from airover.panels import style
from airover.panels.parts import Picture
from airover.proposal import Proposal
from airover.proposal.offered import options
from airover.tables import cost as tables_cost
from airover.texts import Writer

DOTS = 110  # in an inch of a page's preview
WIDE, SCREEN = 620, 920  # pixels


@dataclass(frozen=True)
class Counted:
    """The answer of a job and its ``costs``, None where no motor that fits has a price.

    ``wanted`` names the motor to offer first, nothing for the one that is recommended.
    """

    found: Answer
    costs: LifeCosts | None
    wanted: str = ""
    writer: Writer = field(default_factory=Writer)

    @cached_property
    def choices(self) -> Choices | None:
        return None if self.costs is None else choices(self.costs)

    @cached_property
    def offered(self) -> list[LifeCost]:
        """The options of the proposal that have a price, in its order."""
        if self.costs is None:
            return []
        among = options(self.found, self.costs, self.wanted or None)
        return [one.cost for one in among if one.cost is not None]

    @property
    def whys(self) -> list[str]:
        """What speaks for each option of the life cost, with its motor's name."""
        known = [] if self.choices is None else self.choices.options
        return [
            self.writer(
                "cost.role",
                motor=one.cost.name,
                roles=[Message(f"best_at.{role}") for role in one.roles],
                why=one.why,
            )
            for one in known
        ]

    @property
    def pair(self) -> tuple[LifeCost, ...]:
        """The first of the offered and the cheapest of all others, as far as there are two."""
        first = self.offered[0]
        return (first, *[cost for cost in self.costs.costs if cost is not first][:1])

    @cached_property
    def drivers(self) -> Drivers | None:
        """What decides between the two of the pair; None where there is only one."""
        if self.costs is None or len(self.pair) < 2:
            return None
        names = [cost.name for cost in self.costs.costs]
        return drivers(self.costs, *(names.index(cost.name) for cost in self.pair))

    @property
    def verdict(self) -> str:
        """What to take and why; of a motor that was chosen by hand, how it stands."""
        if self.choices is None:
            return self.writer(self.found.verdict)
        first, best = self.offered[0], self.choices.recommended.cost
        if not self.wanted or first.name != self.wanted or first is best:
            return self.writer(self.choices.reason)
        return self.writer(
            "panel.proposal.chosen",
            motor=first.name,
            about=self.writer.money(first.mean, first.currency),
            years=self.costs.horizon,
            best=best.name,
            **_against(first, best, self.writer),
        )


def verdict(counted: Counted) -> str:
    found = counted.found
    bar = counted.offered[0].candidate.verdict if counted.offered else found.candidates[0].verdict
    write, count = counted.writer, len(found.fitting)
    below = [found.job.name]
    below.append(write("panel.proposal.fitting", count=count, among=len(found.candidates)))
    if counted.costs is not None and counted.costs.unpriced:
        below.append(write("panel.proposal.unpriced", motors=counted.costs.unpriced))
    if found.fitting and counted.costs is None:
        below.append(write("panel.proposal.no_prices"))
    if found.job.invented:
        below.append(write("panel.invented"))
    dot = " \N{MIDDLE DOT} "
    return style.verdict(bar, counted.verdict, dot.join(filter(None, below)))


def motors(counted: Counted) -> list[tuple[str, str]]:
    """Every motor that fits as a choice: what is shown, and its name."""
    shown = ((one.case.motor.name, one.verdict) for one in counted.found.fitting)
    return [(f"{name}, {counted.writer(f'page.fit.{fit}')}", name) for name, fit in shown]


def life(counted: Counted) -> Picture | None:
    """What the motors on offer cost, by what it is for."""
    if not counted.offered:
        return None
    shown = replace(counted.costs, costs=tuple(counted.offered))
    write, years = counted.writer, counted.costs.horizon
    each = "; ".join(f"{one.name} {_about(one, write)}" for one in counted.offered)
    words = write("panel.proposal.life", years=years, each=each)
    return Picture(drawing.png(figures_cost.life_cost(shown, writer=counted.writer)), words)


def facts(counted: Counted) -> str:
    """How the first stands beside the cheapest other, and what makes up its cost."""
    if not counted.offered:
        return ""
    first, *others = counted.pair
    write = counted.writer
    told = [
        write("panel.proposal.beside", other=other.name, **_against(first, other, write))
        for other in others
    ]
    energy = sum(first.parts[name].mean() for name in figures_cost.GROUPS["energy"][0])
    told.append(write("panel.proposal.energy", share=f"{100 * energy / first.mean:.0f}"))
    told.append(
        write(
            "panel.proposal.failures",
            count=f"{sum(first.failures.values()):.2g}",
            years=counted.costs.horizon,
            untroubled=f"{100 * first.untroubled:.0f}",
        )
    )
    return style.listed(first.name, told)


def _against(first: LifeCost, other: LifeCost, write: Writer) -> dict[str, str]:
    """In how many of 100 futures the first costs less, and from and to by how much."""
    low, _, high = (write.money(end, digits=2) for end in difference(first, other))
    share = f"{100 * cheaper(first, other):.0f}"
    return {"share": share, "low": low, "high": high, "currency": first.currency}


def decides(counted: Counted) -> Picture | None:
    """What moves the difference between the first and the cheapest other."""
    found = counted.drivers
    if found is None:
        return None
    most = ", ".join(counted.writer(one.name) for one in found.drivers[:3])
    names = {"first": found.first, "second": found.second}
    words = counted.writer("panel.proposal.drivers", **names, most=most)
    return Picture(drawing.png(figures_cost.decides(found, writer=counted.writer)), words)


def side_by_side(counted: Counted) -> str:
    if not counted.offered:
        return style.quiet(counted.writer("panel.proposal.nothing_to_compare"))
    costs = counted.costs
    table = tables_cost.options(counted.offered, costs.currency, costs.horizon, counted.writer)
    write, left_out = counted.writer, counted.choices.not_included
    hint = style.quiet(write("panel.proposal.present_value"))
    return (
        style.table(table)
        + hint
        + style.listed(write("panel.proposal.not_included"), map(write, left_out))
    )


def what_decides(counted: Counted) -> str:
    shown = decides(counted)
    if shown is None:
        return style.quiet(counted.writer("panel.proposal.no_second"))
    turning = [counted.writer(one.name) for one in counted.drivers.drivers if one.turns]
    told = counted.writer("panel.proposal.none_turns")
    if turning:
        told = counted.writer("panel.proposal.turning", inputs=turning)
    return shown.html(WIDE) + style.quiet(told)


def counted_with(counted: Counted) -> str:
    if counted.costs is None:
        return style.quiet(counted.writer("panel.proposal.not_counted"))
    hint = counted.writer("panel.proposal.given")
    return style.table(
        tables_cost.counted_with(counted.costs, counted.offered, counted.writer)
    ) + style.quiet(hint)


def pages(proposal: Proposal, write: Writer) -> list[Picture]:
    """The pages of the PDF itself."""
    title = proposal.content["head"]["document"]
    return [
        Picture(png, write("panel.proposal.printed", title=title, page=at))
        for at, png in enumerate(proposal.pages(DOTS), 1)
    ]


def preview(proposal: Proposal, write: Writer) -> str:
    edge = f"border: 1px solid var(--ao-line); max-width: {SCREEN}px; margin: 0 0 14px"
    return "".join(
        f'<div style="{edge}">{page.html(SCREEN)}</div>' for page in pages(proposal, write)
    )


def cautions(write: Writer) -> str:
    return style.listed(write("panel.before_touching"), map(write.value, CAUTIONS))


def _about(cost: LifeCost, write: Writer) -> str:
    mean, low, high = (write.money(x) for x in (cost.mean, cost.band.low, cost.band.high))
    return f"{mean} {cost.currency} ({low} - {high})"
