"""What was weighed or measured with an instrument."""

import datetime as dt
from typing import Any

from django.db.models import Q

from batches.models import Bag, Equipment, MarkedStrip, PailCheck, Pour, Reading, ReturnedSolution, Sample, Weighing


def items_weighed_with(equipment: Equipment, since: dt.datetime | None = None) -> set[int]:
    """Ids of mixes and soaks with a figure from this instrument, at or after `since`.

    A doubt begins there and reaches bags and returned solution through ancestry.
    """

    def later(field: str = "happened_at") -> Q:
        return Q(**{f"{field}__gte": since}) if since else Q()

    found: set[int] = set()
    sources: list[tuple[Any, str]] = [
        (Weighing.objects.filter(later(), scale=equipment, mass_mg__gt=0), "mix__item_id"),
        (PailCheck.objects.filter(later(), scale=equipment), "mix__item_id"),
        (Reading.objects.filter(later(), thermometer=equipment, mix__isnull=False), "mix__item_id"),
        (Reading.objects.filter(later(), thermometer=equipment, soak__isnull=False), "soak__item_id"),
        (Pour.objects.filter(later(), scale=equipment), "soak__item_id"),
        (MarkedStrip.objects.filter(later("dry_at"), dry_scale=equipment), "soak__item_id"),
        (MarkedStrip.objects.filter(later("wet_at"), wet_scale=equipment), "soak__item_id"),
        (Bag.objects.filter(later(), scale=equipment, parent=None), "soak__item_id"),
        (Sample.objects.filter(later(), scale=equipment), "soak__item_id"),
        (ReturnedSolution.objects.filter(later(), scale=equipment, soak__isnull=False), "soak__item_id"),
    ]
    for rows, field in sources:
        found |= set(rows.values_list(field, flat=True))
    return found
