"""A club in which every address of the site has something behind it, and people of every role to knock at its doors."""

import re
from typing import Any

from django.utils import timezone

from batches.commands.deciding import open_deviation
from batches.models import Deviation, Weighing
from coop import letters
from coop.commands import invitations, legal
from coop.models import LegalBasis, Letter, Person
from inventory.commands.incidents import note_incident
from inventory.commands.ordering import order
from inventory.commands.stocktaking import begin_stocktake, count_in
from inventory.models import Incident, Item, Movement, Order, Question, StockFile, Stocktake
from members.commands.treating import strips_in
from members.models import Treatment
from tests.makers import batches, files, inventory, members
from tests.makers.coop import coordinator, deed, do, member, releaser, volunteer

#: who knocks; the owner is a member with an apiary, a bag, strips in hives, an ask and a token
PERSONAS = ("nobody", "owner", "other", "volunteer", "releaser", "coordinator")


class World:
    """`path(pattern)` fills an address with things that exist. Unknown parameters raise LookupError."""

    def __init__(self) -> None:
        self.room = batches.room(now=timezone.now() - 12 * members.DAY)
        self.people: dict[str, Person | None] = {
            "nobody": None,
            "owner": member("Owner Oak"),
            "other": member("Other Elm"),
            "volunteer": volunteer("Vol Ash"),
            "releaser": releaser("Rel Yew"),
            "coordinator": coordinator("Co Fir"),
        }
        self._paths: dict[str, str] = {}
        self._bench()
        self._shelf()
        self._members()
        self._ground()

    def _bench(self) -> None:
        self.bag = members.released_bags([30, 28], room=self.room)[0]
        self.soak = self.bag.soak
        self.bench = batches.started(self.room, target_mg=2_000_000)
        self.mix = batches.weighed(self.room, self.bench)
        self.running = batches.poured(self.room, self.bench, strips=30, mix=self.mix)
        self.deviation: Deviation = do(
            open_deviation, self.room.leader, bench=self.bench, kind="other", text="an invented deviation"
        )

    def _shelf(self) -> None:
        self.hold = inventory.hold(inventory.lot(place=self.room.shed))
        self.drums = inventory.lot(place=self.room.shed, containers=[{"name": "drum 1", "tare_mg": 500_000}])
        self.incident: Incident = do(note_incident, what="an invented splash", people="an invented name")
        self.order: Order = do(order, material=self.room.acid.material, quantity=5_000_000, confirmed=True,
                               expected_on=timezone.localdate() + 2 * members.DAY)  # fmt: skip
        self.delivery = inventory.delivery(place=self.room.shed)
        self.stock_file: StockFile = files.handed_in(files.lots("Walk acid,glycerine,Walk supplier,Walk shed,5"))
        self.stocktake: Stocktake = do(begin_stocktake, place=self.room.shed)
        do(count_in, stocktake=self.stocktake, item=self.drums, quantity=1, confirmed=True)
        self.question = Question.objects.create(
            item=self.room.acid, kind=Question.Kind.AMOUNT, text="an invented question", deed=deed()
        )

    def _members(self) -> None:
        owner = self.people["owner"]
        members.basis()
        self.apiary = members.apiary(owner, hives=4)
        self.given = members.handed(self.bag, owner, strips=16).item
        self.treatment: Treatment = do(strips_in, owner, apiary=self.apiary, instructions=self.room.instructions)
        self.round = members.opened(self.room.instructions)

    def _ground(self) -> None:
        self.token = do(invitations.make_token, self.people["owner"], name="a script")
        self.phone = do(invitations.add_shed_phone, person=self.people["volunteer"], name="bench phone")
        letters.queue(key="invented", to="x@example.org", subject="x", body="x", now=timezone.now())
        self.letter = Letter.objects.get(key="invented")
        self.basis = LegalBasis.objects.first() or do(legal.note_legal_basis)

    def path(self, pattern: str) -> str:
        """The address of a pattern with everything in angle brackets filled in, the same each time."""
        if pattern not in self._paths:
            filled = re.sub(r"<(?:\w+:)?(\w+)>", lambda found: str(self.value(pattern, found[1])), pattern)
            self._paths[pattern] = f"/{filled}"
        return self._paths[pattern]

    def value(self, pattern: str, name: str) -> Any:
        for start, known in self._known():
            either_way = pattern, pattern.removeprefix("api/v1/")
            if name in known and any(re.match(start, one) for one in either_way):
                return known[name]
        raise LookupError(f"the walk does not know <{name}> of {pattern}: add it to tests/makers/world.py")

    def _known(self) -> list[tuple[str, dict[str, Any]]]:
        owner, acid = self.people["owner"], self.room.acid
        assert owner is not None
        return [
            (r"people/", {"pk": owner.pk}),
            (r"(me/)?tokens/", {"pk": self.token.pk}),
            (r"shed-phones/", {"pk": self.phone.pk}),
            (r"(club/)?hive-kinds/", {"pk": batches.hive_kind().pk}),
            (r"(club/legal-basis|legal-bases)/", {"pk": self.basis.pk}),
            (r"letters/", {"pk": self.letter.pk}),
            (r"theme/", {"theme": "night"}),
            (r"(in|shed)/", {"word": "no-such-word"}),
            (r"no-reminders/", {"signed": "no-such-word"}),
            (r"(shelf/)?(materials|receive)/", {"pk": acid.material.pk}),
            (r"(shelf/)?lots/.*containers/", {"code": self.drums.code_id, "pk": self._container()}),
            (r"containers/", {"pk": self._container()}),
            (r"(shelf/)?deliveries/", {"pk": self.delivery.pk}),
            (r"shelf/lots/.*strips|items/.*strip-samples", {"code": self.room.blanks.code_id}),
            (r"(shelf/)?stocktakes/", {"pk": self.stocktake.pk, "code": acid.code_id}),
            (r"(shelf/)?suppliers/", {"pk": acid.lot.supplier_id}),
            (r"(shelf/)?sheds/", {"pk": self.room.shed.pk}),
            (r"(shelf/)?files/", {"pk": self.stock_file.pk, "kind": "ods"}),
            (r"(shelf/)?questions/", {"pk": self.question.pk}),
            (r"(shelf/)?orders/", {"pk": self.order.pk}),
            (r"(shelf/)?incidents/", {"pk": self.incident.pk}),
            (r"(shelf/ledger|movements)/", {"pk": self._movement()}),
            (r"(shelf/)?deeds/", {"pk": acid.deed_id}),
            (r"shelf/(lots|things)/|items/|[cC]/|trace/", {"code": acid.code_id}),
            (r"bench/help/", {"subject": "mix"}),
            (r"bench/", {"pk": self.bench.pk, "number": 1, "kind": "scale"}),
            (r"benches/", {"pk": self.bench.pk, "bench": self.bench.pk}),
            (r"weighing", {"pk": self._weighing(), "weighing": self._weighing()}),
            (r"mix(es)?/", {"code": self.mix.item.code_id}),
            (r"soaks?/", {"code": self.soak.item.code_id, "verdict": "reject"}),
            (r"bags/.*pass-on", {"code": self.given.code_id}),
            (r"bags?/", {"code": self.bag.item.code_id}),
            (r"sample/", {"code": self.soak.samples.get().item.code_id}),
            (r"(solution|titrate)/", {"code": self._returned().code_id}),
            (r"deviations?/", {"pk": self.deviation.pk, "deviation": self.deviation.pk}),
            (r"instruments/|equipment/", {"pk": self.room.scale.pk, "equipment": self.room.scale.pk, "kind": "scale"}),
            (r"recipes/", {"pk": self.room.recipe.pk}),
            (r"(share-out|rounds)/", {"pk": self.round.pk, "person": owner.pk}),
            (r"(hives/)?treatments?/", {"pk": self.treatment.pk}),
            (r"hives/strips/", {"code": self.given.code_id}),
            (r"api/v1/hives/<int:pk>/split$", {"pk": self._hive()}),
            (r"(hives|apiaries)/", {"pk": self.apiary.pk}),
            (r"(trace/)?holds/", {"pk": self.hold.pk}),
        ]

    def _container(self) -> int:
        return int(self.drums.lot.containers.get().pk)

    def _movement(self) -> int:
        return int(Movement.objects.filter(item=self.room.glycerine).latest("pk").pk)

    def _weighing(self) -> int:
        return int(Weighing.objects.filter(mix=self.mix).latest("pk").pk)

    def _returned(self) -> Item:
        item: Item = self.soak.returned.get().item
        return item

    def _hive(self) -> int:
        return int(self.apiary.hives.first().pk)
