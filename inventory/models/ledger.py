"""The ledger: movements are the truth, holdings and edges are derived from them in the same transaction."""

from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from inventory.models.items import Item
from inventory.models.places import Place


class Movement(models.Model):
    """Something went from one place to another. Append-only by trigger; a wrong one is reversed, once, by name."""

    class Cause(models.TextChoices):
        RECEIVE = "receive", _("received")
        OPENING = "opening", _("opening balance")
        TRANSFER = "transfer", _("moved")
        DRAW = "draw", _("drawn")
        DISCARD = "discard", _("discarded")
        SPILL = "spill", _("spilt")
        COUNT = "count", _("counted")
        FOUND = "found", _("found stock")
        WEIGH_IN = "weigh_in", _("weighed in")
        MIX = "mix", _("mixed")
        POUR = "pour", _("poured")
        SOAK = "soak", _("soaked")
        BAG = "bag", _("bagged")
        SAMPLE = "sample", _("retained")
        RETURN_SOLUTION = "return_solution", _("returned solution")
        LOSS = "loss", _("declared loss")
        UNEXPLAINED = "unexplained", _("unexplained")
        SPLIT = "split", _("split off")
        HAND_OVER = "hand_over", _("handed over")
        PASS_ON = "pass_on", _("passed on")
        BRING_BACK = "bring_back", _("brought back")
        STRIPS_IN = "strips_in", _("put in hives")
        STRIPS_OUT = "strips_out", _("taken out")
        MISSING = "missing", _("missing")
        CORRECT = "correct", _("corrected")

    item = models.ForeignKey(Item, models.PROTECT, related_name="movements")
    source = models.ForeignKey(Place, models.PROTECT, related_name="movements_out")
    target = models.ForeignKey(Place, models.PROTECT, related_name="movements_in")
    quantity = models.BigIntegerField()
    cause = models.CharField(max_length=16, choices=Cause.choices)
    note = models.CharField(max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="movements")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    reverses = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="reversed_by")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="inventory_movement_quantity"),
            models.CheckConstraint(condition=~Q(source=F("target")), name="inventory_movement_goes"),
        ]
        indexes = [models.Index(fields=["item", "-id"]), models.Index(fields=["-happened_at", "-id"])]

    @property
    def corrects(self) -> "Movement | None":
        """The movement this one sets right: it takes it back, or stands in its stead."""
        return self.reverses or self.replaces


class Nothing(models.Value):
    """A zero that stands in the question itself: SQLite takes a partial index for no parameter."""

    def __init__(self) -> None:
        super().__init__(0, models.BigIntegerField())

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[str | int, ...]]:
        return "0", ()


class HoldingQuerySet(models.QuerySet["Holding"]):
    def some(self) -> "HoldingQuerySet":
        """Where there is something: few rows beside those that are used up."""
        return self.filter(quantity__gt=Nothing())


class Holding(models.Model):
    """How much of an item is in a real place now. Changed only in inventory/ledger.py, beside a movement."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="holdings")
    place = models.ForeignKey(Place, models.PROTECT, related_name="holdings")
    quantity = models.BigIntegerField(default=0)

    objects = HoldingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "place"], name="inventory_holding_once"),
            models.CheckConstraint(condition=Q(quantity__gte=0), name="inventory_holding_not_negative"),
        ]
        indexes = [
            models.Index(fields=["place", "item"]),
            models.Index(fields=["item"], condition=Q(quantity__gt=0), name="inventory_holding_some"),
        ]


class Edge(models.Model):
    """What of a parent went into a child, net: milligrams of liquid or powder, and pieces. Derived from movements."""

    parent = models.ForeignKey(Item, models.PROTECT, related_name="edges_down")
    child = models.ForeignKey(Item, models.PROTECT, related_name="edges_up")
    mass_mg = models.BigIntegerField(default=0)
    pieces = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["parent", "child"], name="inventory_edge_once"),
            models.CheckConstraint(condition=Q(mass_mg__gte=0, pieces__gte=0), name="inventory_edge_not_negative"),
            models.CheckConstraint(condition=~Q(parent=F("child")), name="inventory_edge_not_itself"),
        ]
        indexes = [models.Index(fields=["child", "parent"])]


class Question(models.Model):
    """A fact that was kept though the book disagrees: it stays open until somebody settles it, and blocks release."""

    class Kind(models.TextChoices):
        FOUND = "found", _("more was used than the book held")
        CIRCLE = "circle", _("made from itself, by the code entered")
        HELD = "held", _("used while on hold")
        LATE = "late", _("came in after the decision")
        AMOUNT = "amount", _("an unlikely amount")
        PAPERS = "papers", _("the papers of what went in were set right")

    item = models.ForeignKey(Item, models.PROTECT, related_name="questions")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    text = models.CharField(max_length=300)
    movement = models.ForeignKey(Movement, models.PROTECT, null=True, blank=True, related_name="questions")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    answer = models.CharField(max_length=300, blank=True)
    settled_by = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-id"]
