"""Who got which bags of the recall case, what was passed on, put in hives, taken out and brought back."""

from typing import Any

from batches.models import Bag
from coop.models import Person
from members.commands.apiaries import add_apiary, add_hives
from members.commands.handing import bring_back, hand_over, pass_on
from members.commands.treating import LineIn, LineOut, strips_in, strips_out
from tests.makers import batches as make
from tests.makers.coop import do, member


class HandedOut:
    """Six bags to seven members. `season` has the codes of its bags and a clock."""

    def __init__(self, season: Any) -> None:
        self.season = season
        self.people: dict[str, Person] = {}

    def who(self, name: str) -> Person:
        return self.people.setdefault(name, member(name))

    def bag(self, number: int) -> Bag:
        return Bag.objects.get(item__code=self.season.bags[number])

    def do(self, command: Any, **arguments: Any) -> Any:
        return do(command, happened_at=self.season.now, **arguments)

    def give(self, number: int, name: str, strips: int) -> Bag:
        done = self.do(hand_over, bag=self.bag(number), receiver=self.who(name), cautions=True, strips=strips)
        return Bag.objects.get(item=done.item)

    def hives(self, name: str, count: int) -> tuple[Any, list[Any]]:
        apiary = self.do(add_apiary, name=f"{name} hill", keeper=self.who(name))
        return apiary, self.do(add_hives, apiary=apiary, kind=make.hive_kind(), count=count)

    def run(self) -> None:
        self.season.head.post(
            "legal-bases/note", subject="supply", rule="invented rule", reference="nowhere", checked_by="Cora",
            valid_from="2026-01-01", valid_until="2027-12-31",
        )  # fmt: skip
        season = self.season
        opened = self.give(0, "M07", 40)
        self.put_in("M07", opened, 6)
        self.give(1, "M11", 16)
        second = self.give(1, "M03", 24)
        self.do(pass_on, bag=second, giver=self.who("M03"), receiver=self.who("M19"), cautions=True, strips=8)
        treatment = self.put_in("M03", second, 4)
        season.wait(42 * 24 * 60)
        lines = list(treatment.lines.order_by("pk"))
        outs = [LineOut(line, 4) for line in lines[1:]] + [LineOut(lines[0], 3, 1)]
        self.do(strips_out, treatment=treatment, lines=outs)
        self.give(2, "M11", 28)
        back = self.give(4, "M22", 12)
        self.do(bring_back, bag=back, person=self.who("M22"), is_unopened=True)
        self.give(5, "M05", 20)
        self.give(5, "M31", 8)

    def put_in(self, name: str, bag: Bag, hives: int) -> Any:
        apiary, rows = self.hives(name, hives)
        lines = [LineIn(hive, bag.item, 4) for hive in rows]
        return self.do(strips_in, apiary=apiary, instructions=self.season.instructions, lines=lines)
