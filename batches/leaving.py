"""When somebody of the bench leaves the club."""

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _

from batches.models import Bench, Presence, Release
from coop import registry, wording
from coop.models import Person


@registry.leavings.register("batches")
def records_an_open_bench(person: Person) -> Iterator[str]:
    """Whoever records an open bench hands it over first."""
    for bench in Bench.objects.open().filter(recorder=person):
        yield _("%(name)s records the bench of %(day)s. Somebody takes it over or closes it first.") % {
            "name": person.name,
            "day": wording.day(bench.day),
        }


@registry.belongings.register("batches")
def benches_of(person: Person) -> dict[str, list[dict[str, Any]]]:
    """The benches somebody was at and what they decided, for a copy of all that is kept about them."""
    present = Presence.objects.filter(person=person).select_related("bench").order_by("bench__day", "id")
    decided = Release.objects.filter(person=person).select_related("soak__item").order_by("id")
    return {
        _("Benches"): [{"day": one.bench.day.isoformat(), "gear": one.gear} for one in present],
        _("Decisions"): [
            {"soak": one.soak.item.code_id, "verdict": one.verdict, "at": one.decided_at.isoformat()} for one in decided
        ],
    }
