"""Containers stand where their lot lies, as far as the book knows: in the one shed, or quarantine, that holds some."""

from collections import defaultdict
from typing import Any

from django.db import migrations


def fill(apps: Any, schema_editor: Any) -> None:
    Container, Holding = apps.get_model("inventory", "Container"), apps.get_model("inventory", "Holding")
    lots = Container.objects.filter(place=None).values("lot_id")
    rows = Holding.objects.filter(item__in=lots, quantity__gt=0, place__kind__in=("shed", "quarantine"))
    places: dict[int, list[int]] = defaultdict(list)
    for item, place in rows.values_list("item_id", "place_id"):
        places[item].append(place)
    for item, found in places.items():
        if len(found) == 1:
            Container.objects.filter(lot_id=item, place=None).update(place_id=found[0])


class Migration(migrations.Migration):
    dependencies = [("inventory", "0002_outlook_stocktakes_and_files")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
