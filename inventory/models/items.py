"""Everything with a code is one Item; what only a kind of it has stands in a table of its own."""

import datetime as dt
from collections.abc import Collection
from typing import Any

from django.db import models
from django.db.models import F, Q, Sum, Value
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy as _

from coop.codes import spaced
from inventory.models.buying import Delivery
from inventory.models.materials import Material, Unit
from inventory.models.suppliers import Supplier


class ItemQuerySet(models.QuerySet["Item"]):
    """Named questions about things with a code."""

    def lots(self) -> "ItemQuerySet":
        return self.filter(kind=Item.Kind.LOT)

    def of(self, material: Material) -> "ItemQuerySet":
        return self.filter(material=material)

    def with_on_hand(self) -> "ItemQuerySet":
        """Adds `on_hand`: milligrams or pieces in sheds, quarantine not counted."""
        in_sheds = Sum("holdings__quantity", filter=Q(holdings__place__kind="shed"))
        return self.annotate(on_hand=Coalesce(in_sheds, Value(0), output_field=models.BigIntegerField()))

    def on_hand(self) -> "ItemQuerySet":
        """Only what is in a shed, with how much."""
        return self.with_on_hand().filter(Q(on_hand__gt=0))

    def in_date(self, day: dt.date) -> "ItemQuerySet":
        """Still good on a local day; what has no date keeps."""
        return self.filter(Q(best_before=None) | Q(best_before__gte=day))

    def expired(self, day: dt.date) -> "ItemQuerySet":
        return self.filter(best_before__lt=day)

    def not_held(self, held: Collection[int]) -> "ItemQuerySet":
        """Without what is on hold; `held` comes from inventory.holds.held_ids()."""
        return self.exclude(pk__in=held) if held else self

    def first_expiring(self) -> "ItemQuerySet":
        """First expiring first, then the oldest."""
        return self.order_by(F("best_before").asc(nulls_last=True), "made_at", "pk")


class Item(models.Model):
    """A bought lot, a mix, a soak, a bag, a retained sample, a returned solution: one code, one unit, one ledger."""

    class Kind(models.TextChoices):
        LOT = "lot", _("lot")
        MIX = "mix", _("mix")
        SOAK = "soak", _("soak")
        BAG = "bag", _("bag")
        SAMPLE = "sample", _("retained sample")
        RETURNED = "returned", _("returned solution")

    code = models.OneToOneField("coop.Code", models.PROTECT, related_name="item", db_column="code")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    unit = models.CharField(max_length=6, choices=Unit.choices)
    material = models.ForeignKey(Material, models.PROTECT, null=True, blank=True, related_name="items")
    best_before = models.DateField(_("best before"), null=True, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    note = models.CharField(_("note"), max_length=300, blank=True)

    objects = ItemQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["soak", "bag", "sample"], unit="pieces")
                | Q(kind__in=["mix", "returned"], unit="mass")
                | Q(kind="lot"),
                name="inventory_item_unit",
            ),
            models.CheckConstraint(
                condition=~Q(kind="lot") | Q(material__isnull=False), name="inventory_item_lot_material"
            ),
        ]
        indexes = [models.Index(fields=["kind", "-id"])]

    def __str__(self) -> str:
        return spaced(self.code_id)

    @property
    def spaced_code(self) -> str:
        return spaced(self.code_id)


class Lot(models.Model):
    """What is known about a bought lot. The assay is a mass fraction as dihydrate, in parts per 10^9."""

    class Form(models.TextChoices):
        DIHYDRATE = "dihydrate", _("dihydrate")
        ANHYDROUS = "anhydrous", _("anhydrous")
        UNKNOWN = "unknown", _("unknown")
        NONE = "none", _("does not apply")

    #: acid of these forms is kept, and not weighed in
    UNUSABLE = (Form.UNKNOWN, Form.ANHYDROUS)

    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="lot")
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="lots")
    delivery = models.ForeignKey(Delivery, models.PROTECT, null=True, blank=True, related_name="lots")
    supplier_lot = models.CharField(_("supplier's lot"), max_length=80, blank=True, db_index=True)
    grade = models.CharField(_("grade"), max_length=80, blank=True)
    form = models.CharField(_("form"), max_length=10, choices=Form.choices, default=Form.NONE)
    assay_ppb = models.BigIntegerField(_("assay as dihydrate"), null=True, blank=True)
    certificate = models.ForeignKey("coop.Document", models.PROTECT, null=True, blank=True, related_name="+")
    certificate_names_form = models.BooleanField(_("the certificate names the dihydrate"), default=False)
    price_cents = models.BigIntegerField(_("price of the whole lot; zero for a gift"), default=0)
    received_quantity = models.BigIntegerField()
    dry_strip_mg = models.BigIntegerField(_("dry mass of one strip"), null=True, blank=True)
    uptake_mg = models.BigIntegerField(_("uptake of one strip"), null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(price_cents__gte=0), name="inventory_lot_price"),
            models.CheckConstraint(
                condition=Q(assay_ppb__isnull=True) | Q(assay_ppb__gt=0, assay_ppb__lte=1_500_000_000),
                name="inventory_lot_assay",
            ),
        ]

    def __str__(self) -> str:
        return str(self.item)

    @property
    def is_form_verified(self) -> bool:
        """A certificate that names the dihydrate, or an assay."""
        return self.form == self.Form.DIHYDRATE and (self.certificate_names_form or self.assay_ppb is not None)


class Container(models.Model):
    """One drum, can or sack of a lot, weighed gross against its tare; `place` is the shed it was last seen in."""

    lot = models.ForeignKey(Lot, models.CASCADE, related_name="containers")
    name = models.CharField(_("name"), max_length=40)
    tare_mg = models.BigIntegerField(_("tare"), null=True, blank=True)
    gross_mg = models.BigIntegerField(_("gross, last weighed"), null=True, blank=True)
    place = models.ForeignKey("inventory.Place", models.PROTECT, null=True, blank=True, related_name="containers")
    opened_on = models.DateField(_("opened on"), null=True, blank=True)
    emptied_on = models.DateField(_("empty since"), null=True, blank=True)

    class Meta:
        ordering = ["lot", "id"]
        constraints = [models.UniqueConstraint(fields=["lot", "name"], name="inventory_container_name")]

    def __str__(self) -> str:
        return self.name

    @property
    def net_mg(self) -> int | None:
        """What was in it when it was last weighed; zero when it is empty, None when nobody knows."""
        if self.emptied_on is not None:
            return 0
        return None if self.gross_mg is None or self.tare_mg is None else max(self.gross_mg - self.tare_mg, 0)


class StripSample(models.Model):
    """A few blanks of a lot weighed dry, and wet after standing in solution: where its dry mass and uptake come from.

    `dry_mg` and `wet_mg` are lists of milligrams, strip by strip, or {"count", "total_mg"} of strips weighed together;
    `wet_mg` is empty where only dry ones were weighed.
    """

    lot = models.ForeignKey(Lot, models.CASCADE, related_name="samples")
    dry_mg: Any = models.JSONField(_("dry"), default=list)
    wet_mg: Any = models.JSONField(_("wet"), default=list, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["-happened_at", "-id"]
