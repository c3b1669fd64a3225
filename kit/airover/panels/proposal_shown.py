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
NOT_MADE = "No proposal was made yet. The button on the left makes it, and shows its pages here."
NO_COST = style.quiet("No picture: no motor that fits has a price, or none fits.")
CHANGED = "Something was changed since this proposal was made: make it again."


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
        about = self.writer.money(first.mean, first.currency)
        share = f"{100 * cheaper(first, best):.0f} of 100 futures"
        low, _, high = (self.writer.money(end, digits=2) for end in difference(first, best))
        return (
            f"You chose the {first.name}: about {about} over {self.costs.horizon} years. It costs "
            f"less than the recommended {best.name} in {share} (its cost less the other's: {low} "
            f"to {high} {first.currency})."
        )


def verdict(counted: Counted) -> str:
    found = counted.found
    bar = counted.offered[0].candidate.verdict if counted.offered else found.candidates[0].verdict
    below = [found.job.name, f"{len(found.fitting)} of {len(found.candidates)} motors fit"]
    if counted.costs is not None and counted.costs.unpriced:
        below.append(f"no price, so not counted: {', '.join(counted.costs.unpriced)}")
    if found.fitting and counted.costs is None:
        below.append("no motor that fits has a price: no life cost, and the proposal says so")
    if found.job.invented:
        below.append("Invented scenario, makers, motors and prices.")
    dot = " \N{MIDDLE DOT} "
    return style.verdict(bar, counted.verdict, dot.join(filter(None, below)))


def motors(found: Answer) -> list[tuple[str, str]]:
    """Every motor that fits as a choice: what is shown, and its name."""
    return [(f"{one.case.motor.name}, {one.verdict}", one.case.motor.name) for one in found.fitting]


def life(counted: Counted) -> Picture | None:
    """What the motors on offer cost, by what it is for."""
    if not counted.offered:
        return None
    shown = replace(counted.costs, costs=tuple(counted.offered))
    each = "; ".join(f"{one.name} {_about(one)}" for one in counted.offered)
    words = f"Bars of cost over {counted.costs.horizon} years, today, energy, repairs: {each}."
    return Picture(drawing.png(figures_cost.life_cost(shown, writer=counted.writer)), words)


def facts(counted: Counted) -> str:
    """How the first stands beside the cheapest other, and what makes up its cost."""
    if not counted.offered:
        return ""
    first, *others = counted.pair
    told = [_beside(first, other) for other in others]
    energy = sum(first.parts[name].mean() for name in figures_cost.GROUPS["energy"][0])
    failures = f"{sum(first.failures.values()):.2g} failures"
    none = f"in {100 * first.untroubled:.0f} of 100 futures there is none"
    told.append(f"Energy is {100 * energy / first.mean:.0f} % of what it costs.")
    told.append(f"Expect {failures} in {counted.costs.horizon} years; {none}.")
    return style.listed(first.name, told)


def _beside(first: LifeCost, other: LifeCost) -> str:
    low, _, high = (Writer().money(end, digits=2) for end in difference(first, other))
    return (
        f"It costs less than the {other.name} in {100 * cheaper(first, other):.0f} of 100 futures; "
        f"its cost less the other's is {low} to {high} {first.currency}."
    )


def decides(counted: Counted) -> Picture | None:
    """What moves the difference between the first and the cheapest other."""
    found = counted.drivers
    if found is None:
        return None
    most = ", ".join(counted.writer(one.name) for one in found.drivers[:3])
    words = (
        f"Bars of what moves the cost of the {found.first} less that of the {found.second}, one "
        f"input at a time from its low to its high end; the longest: {most}."
    )
    return Picture(drawing.png(figures_cost.decides(found, writer=counted.writer)), words)


def side_by_side(counted: Counted) -> str:
    if not counted.offered:
        return style.quiet("No motor that fits has a price, so there is nothing to compare.")
    costs = counted.costs
    table = tables_cost.options(counted.offered, costs.currency, costs.horizon, counted.writer)
    hint = (
        "Present value, in the money of today; what is from and to holds in 9 cases of 10. Motors "
        "share the draws of what they have in common, so how often one costs less than another is "
        "known better than either cost."
    )
    left_out = style.listed("Not included", map(counted.writer, counted.choices.not_included))
    return style.table(table) + style.quiet(hint) + left_out


def what_decides(counted: Counted) -> str:
    shown = decides(counted)
    if shown is None:
        return style.quiet("There is no second motor with a price to compare with.")
    turning = [counted.writer(one.name) for one in counted.drivers.drivers if one.turns]
    told = "None of them alone makes the other motor the cheaper one on average."
    if turning:
        told = f"Alone enough to make the other motor cheaper on average: {', '.join(turning)}."
    return shown.html(WIDE) + style.quiet(told)


def counted_with(counted: Counted) -> str:
    if counted.costs is None:
        return style.quiet("No life cost was counted.")
    hint = "Given is what you typed. What is assumed is invented or own judgement: put in yours."
    return style.table(
        tables_cost.counted_with(counted.costs, counted.offered, counted.writer)
    ) + style.quiet(hint)


def pages(proposal: Proposal) -> list[Picture]:
    """The pages of the PDF itself."""
    title = proposal.content["head"]["document"]
    made = enumerate(proposal.pages(DOTS), 1)
    return [Picture(png, f"{title}, page {at} as it prints.") for at, png in made]


def preview(proposal: Proposal) -> str:
    edge = f"border: 1px solid var(--ao-line); max-width: {SCREEN}px; margin: 0 0 14px"
    return "".join(f'<div style="{edge}">{page.html(SCREEN)}</div>' for page in pages(proposal))


def cautions() -> str:
    return style.listed("Before anyone touches it", map(Writer().value, CAUTIONS))


def _about(cost: LifeCost) -> str:
    mean, *ends = (Writer().money(x) for x in (cost.mean, cost.band.low, cost.band.high))
    return f"{mean} {cost.currency} ({ends[0]} to {ends[1]})"
