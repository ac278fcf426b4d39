"""The demo's benches through the season: fresh, its solution used again, and again; rejected, waiting, in soak."""

import dataclasses
import datetime as dt
from typing import Any

from django.utils.translation import gettext as _

from batches.commands.deciding import open_deviation, reject_soak, release_soak
from batches.commands.mixing import titrate
from batches.commands.planning import plan_bench
from batches.models import ReturnedSolution, Soak
from coop.site.demo import bench, keeping, shelf
from coop.site.demo.bench import Batch, Workshop
from coop.site.demo.people import People
from coop.site.demo.shelf import GRAM, Shelf
from coop.site.demo.teller import Teller
from inventory.commands.stock import discard
from inventory.models import Item


@dataclasses.dataclass
class Season:
    """Everybody and everything the benches need, told one batch after the other."""

    teller: Teller
    people: People
    shelf: Shelf
    workshop: Workshop

    def spring(self) -> tuple[Soak, Soak]:
        """Two released batches: the first fresh, the second with what came back from it."""
        teller, people = self.teller, self.people
        first = Batch(teller.at(198, "09:30"), people.first, people.second)
        tub, back = self._made(first)
        second = Batch(
            teller.at(156, "10:00"),
            people.second,
            people.first,
            uptake_mg=13_350,
            warmer_mc=900,
            room=(20_500, 24_000),
            unexplained_mg=-9 * GRAM,
            returned=[back.item],
        )
        again, self.back = self._made(second)
        keeping.stocktake(teller, people, self.shelf, self._glycerine(), 148)
        return tub, again

    def summer(self) -> Soak:
        """A third batch: the solution of the second was titrated first, since this is its second use."""
        teller, people = self.teller, self.people
        shelf.glycerine(teller, people, self.shelf, 90, "GV-93")
        keeping.sample(teller, people, shelf.blanks(teller, people, self.shelf, 88, "W 36", best_before=-1_000), 87)
        teller.did(
            people.second,
            teller.at(80, "19:15"),
            titrate,
            item=self.back.item,
            w_ppb=329_000_000,
            u_ppb=1_500_000,
            method=_("2 g made up to 100 mL, 25 mL in duplicate with 0.1 mol/L sodium hydroxide, 0.4 % apart"),
        )
        batch = Batch(
            teller.at(79, "09:15"),
            people.first,
            people.second,
            uptake_mg=13_050,
            warmer_mc=-700,
            room=(21_000, 25_500),
            hours=46.25,
            unexplained_mg=21 * GRAM,
            returned=[self.back.item],
        )
        shelf.mishaps(teller, people, self.shelf, self._glycerine())
        return self._made(batch)[0]

    def rejected(self) -> Soak:
        """A batch from a drum of damp acid: the tub titrates too low, nothing of it goes out, the drum is on hold."""
        teller, people = self.teller, self.people
        damp = shelf.acid(teller, people, self.shelf, 47, "RR-0560 B", assay=992_000_000, best_before=-140, price=4_900)
        batch = Batch(
            teller.at(40, "09:45"), people.second, people.first, uptake_mg=12_700, room=(18_500, 21_000), hours=49
        )
        run = bench.plan(teller, people, self.workshop, batch)
        tub = bench.soak(run, bench.mix(run))
        bench.glance(run, tub, 20)
        bench.lift_and_bag(run, tub)
        titration = {"item": tub.item, "w_ppb": 311_500_000, "u_ppb": 1_600_000}
        method = _("the tub, because the drum was caked: in duplicate, 0.3 % apart")
        teller.did(people.second, teller.at(37, "18:30"), titrate, **titration, method=method)
        shelf.doubt(teller, people, damp, 37)
        note = _("The tub titrates 6 % under the recipe: the acid was damp. Not to be mended in the strips.")
        teller.did(people.releaser, teller.at(36, "19:00"), reject_soak, soak=tub, note=note)
        for one in bench.bags_of(tub)[:3]:
            facts = {"item": one.item, "place": self.shelf.shed, "quantity": one.strips}
            teller.did(people.coordinator, teller.at(34, "11:00"), discard, **facts, note=_("as the sheet says"))
        return tub

    def waiting(self) -> Soak:
        """Bagged and closed; the room was cold for a night, so the release needs a reason that a second one accepts."""
        teller, people = self.teller, self.people
        drum = keeping.ordered(teller, people, self.shelf, 41)
        facts: dict[str, Any] = {"assay": 996_500_000, "best_before": -640, "price": 6_300, "order": drum}
        shelf.acid(teller, people, self.shelf, 24, "RR-0571", **facts)
        batch = Batch(
            teller.at(5, "10:10"),
            people.first,
            people.second,
            uptake_mg=13_150,
            warmer_mc=500,
            room=(16_300, 21_500),
            hours=49.5,
            unexplained_mg=17 * GRAM,
        )
        run = bench.plan(teller, people, self.workshop, batch)
        tub = bench.soak(run, bench.mix(run))
        bench.glance(run, tub, 21)
        bench.lift_and_bag(run, tub)
        teller.did(
            people.first,
            teller.at(2, "20:40"),
            open_deviation,
            bench=run.bench,
            soak=tub,
            kind="room",
            text=_("The room fell to 16.3 degrees in the second night."),
            reason=_("The heater's fuse went; it was back by seven. Content and marked strips are in order."),
        )
        return tub

    def soaking(self) -> Soak:
        """In the tub since yesterday evening."""
        teller, people = self.teller, self.people
        start = teller.at(1, "17:20")
        run = bench.plan(teller, people, self.workshop, Batch(start, people.second, people.first, warmer_mc=300))
        return bench.soak(run, bench.mix(run))

    def planned(self) -> None:
        """The next bench: as many strips as there are blanks of one lot."""
        teller, people, workshop = self.teller, self.people, self.workshop
        teller.did(
            people.coordinator,
            teller.at(0, "07:45"),
            plan_bench,
            recipe=workshop.recipe,
            instructions=workshop.instructions,
            day=teller.day(-9),
            strips=60,
        )
        keeping.on_the_way(teller, people, self.shelf)

    def _made(self, batch: Batch) -> tuple[Soak, ReturnedSolution]:
        """A batch that passes everything, released by somebody who was not there."""
        run = bench.plan(self.teller, self.people, self.workshop, batch)
        tub = bench.soak(run, bench.mix(run))
        bench.glance(run, tub, 19)
        back = bench.lift_and_bag(run, tub)
        when = batch.start + dt.timedelta(days=3, hours=8)
        self.teller.did(self.people.releaser, when, release_soak, soak=tub)
        return Soak.objects.get(pk=tub.pk), back

    def _glycerine(self) -> Item:
        return Item.objects.lots().of(self.shelf.glycerine).order_by("id")[0]
