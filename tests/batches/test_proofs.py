"""Each proof of the bench bites when its fact is bent, and the database refuses what it must."""

import pytest
from django.db import IntegrityError, connection, transaction

from batches.models import Bag, Mix, Recipe, Release, Soak, Solution, Titration, Weighing
from coop import triggers
from coop.proof import differences
from tests.makers import batches as make
from tests.makers.coop import deed

pytestmark = pytest.mark.django_db


@pytest.fixture
def soak():
    return make.released(make.room())


BENDS = {
    "batches.pieces": lambda soak: Soak.objects.update(strips=61),
    "batches.weighings": lambda soak: Weighing.objects.filter(pk=Weighing.objects.first().pk).update(mass_mg=1),
    "batches.strengths": lambda soak: Solution.objects.filter(item__kind="mix").update(weighed_ppb=1),
    "batches.releases": lambda soak: Release.objects.all().delete(),
    "batches.bags": lambda soak: Mix.objects.filter(bench=soak.bench).update(item=soak.item),
    "batches.ended": lambda soak: soak.bench.mixes.get().item.holdings.filter(place__kind="bench").update(quantity=5),
}


@pytest.mark.parametrize("name", BENDS)
def test_a_bent_fact_is_named(soak, name):
    assert list(differences()) == []
    BENDS[name](soak)
    assert [one for one in differences() if one.startswith(name)]


def test_a_strength_called_titrated_needs_its_titration(soak):
    Solution.objects.filter(item__kind="mix").update(source="titrated")
    assert [one for one in differences() if "no titration" in one]


def test_a_written_recipe_is_never_altered(soak):
    recipe = Recipe.objects.get()
    for change in ({"w_ppb": 1}, {"name": "x"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Recipe.objects.filter(pk=recipe.pk).update(**change)
    Recipe.objects.filter(pk=recipe.pk).update(retired_at=soak.laid_at)
    assert not Recipe.objects.current().exists()


def test_a_titration_is_never_altered(soak):
    row = Titration.objects.create(
        item=soak.item, w_ppb=1, u_ppb=1, method="NaOH", deed=deed(), happened_at=soak.laid_at
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        Titration.objects.filter(pk=row.pk).update(w_ppb=2)


def test_the_benchs_triggers_stand():
    assert triggers.missing() == []
    with connection.cursor() as cursor:
        assert "batches_bag" in connection.introspection.table_names(cursor)


def test_a_bag_without_a_net_mass_is_refused_by_the_database(soak):
    with pytest.raises(IntegrityError), transaction.atomic():
        Bag.objects.filter(soak=soak).update(net_mg=None)
