"""The demo club's story, told once through the commands, backwards from today."""

import datetime as dt

from coop.site.demo import apiaries, bench, people, shelf
from coop.site.demo.rounds import Rounds
from coop.site.demo.season import Season
from coop.site.demo.teller import Teller
from coop.site.demo.treatments import Treatments


def tell(now: dt.datetime) -> None:
    """Found the invented club and live its season through. Refused (code "club_exists") where there is a club.

    What the shelf holds decides what a round can share, so everything is told in the order in which it happened.
    """
    teller = Teller(now)
    folk = people.found(teller)
    shed = shelf.furnish(teller, folk)
    workshop = bench.equip(teller, folk)
    shelf.first_deliveries(teller, folk, shed)
    stands = apiaries.settle(teller, folk)
    season = Season(teller, folk, shed, workshop)
    rounds = Rounds(teller, folk, stands, workshop.instructions)
    treatments = Treatments(teller, folk, stands)

    season.spring()
    apiaries.split_in_spring(teller, stands)
    rounds.first()
    treatments.spring()
    season.summer()
    rounds.second()
    apiaries.lose_in_autumn(teller, stands)
    treatments.pass_some_on()
    treatments.autumn()
    season.rejected()
    treatments.bring_some_back()
    season.waiting()
    rounds.third()
    season.soaking()
    season.planned()
