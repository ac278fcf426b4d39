"""What a reminder is due for, told to the books of a club that stands: strips in a hive, and acid under its level."""

import datetime as dt

from django.utils import timezone

from coop.commands.people import add_person
from coop.models import the_club
from inventory.commands.stock import draw
from members.commands.apiaries import add_apiary, add_hives
from members.commands.treating import strips_in
from tests.makers import batches, inventory, members
from tests.makers.coop import do

MEMBER = "mole@example.org"
DAYS = 40


def tell() -> None:
    """The acid has crossed its level, and strips of Mole's are due out today. Ada, the coordinator, is there."""
    acid = inventory.acid(name="Oxalic acid dihydrate", low_level=2 * inventory.KG)
    shed = inventory.shed(name="Red shed")
    sack = inventory.lot(acid, shed, quantity=3 * inventory.KG)
    do(draw, item=sack, place=shed, quantity=1_500_000, note="a trial")
    mole = do(add_person, name="Mole", email=MEMBER, role="member")
    members.basis()
    instructions = batches.instructions(days=DAYS)
    long_ago = timezone.now() - dt.timedelta(days=DAYS + 3)
    field = do(add_apiary, mole, name="Bank", happened_at=long_ago)
    since = long_ago.astimezone(the_club().tz).date()
    do(add_hives, mole, apiary=field, kind=batches.hive_kind(), count=2, from_on=since, happened_at=long_ago)
    (bag,) = members.shelf_bags([6], instructions)
    members.handed(bag, mole)
    do(strips_in, mole, apiary=field, instructions=instructions, in_on=the_club().today() - dt.timedelta(days=DAYS))
