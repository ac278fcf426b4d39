"""Who got which bags of the recall case, what was passed on, put in hives, taken out and brought back: by the API."""

from typing import Any

from coop.models import Person
from tests.makers import batches as make
from tests.makers.coop import member


class HandedOut:
    """Six bags to seven members. `season` has the codes of its bags, a coordinator at the API, and a clock."""

    def __init__(self, season: Any) -> None:
        self.season = season
        self.people: dict[str, Person] = {}

    def who(self, name: str) -> int:
        return self.people.setdefault(name, member(name)).pk

    def post(self, path: str, **body: Any) -> Any:
        return self.season.head.post(path, **body)

    def give(self, number: int, name: str, strips: int) -> str:
        """The code of what was handed over: the bag, or a part of it with a code of its own."""
        path = f"bags/{self.season.bags[number]}/hand-over"
        code: str = self.post(path, receiver=self.who(name), cautions=True, strips=strips)["code"]
        return code

    def put_in(self, name: str, bag: str, count: int) -> Any:
        """Four strips into each of so many hives of one apiary."""
        apiary = self.post("apiaries/add", name=f"{name} hill", keeper=self.who(name))["id"]
        hives = self.post(f"apiaries/{apiary}/hives/add", kind=make.hive_kind().pk, count=count, from_on="2026-04-01")
        lines = [{"hive": hive["id"], "bag": bag, "strips": 4} for hive in hives]
        return self.post(f"apiaries/{apiary}/strips-in", instructions=self.season.instructions.pk, lines=lines)

    def run(self) -> None:
        self.post(
            "legal-bases/note", subject="supply", rule="invented rule", reference="nowhere", checked_by="Cora",
            valid_from="2026-01-01", valid_until="2027-12-31",
        )  # fmt: skip
        self.put_in("M07", self.give(0, "M07", 40), 6)
        self.give(1, "M11", 16)
        second = self.give(1, "M03", 24)
        self.post(f"bags/{second}/pass-on", giver=self.who("M03"), receiver=self.who("M19"), cautions=True, strips=8)
        treatment = self.put_in("M03", second, 4)
        self.season.wait(42 * 24 * 60)
        outs = [{"line": line["id"], "out": 4} for line in treatment["lines"]]
        outs[0].update(out=3, chewed=1)
        self.post(f"treatments/{treatment['id']}/strips-out", lines=outs)
        self.give(2, "M11", 28)
        back = self.give(4, "M22", 12)
        self.post(f"bags/{back}/bring-back", person=self.who("M22"), is_unopened=True)
        self.give(5, "M05", 20)
        self.give(5, "M31", 8)
