import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("coop", "__first__"),
        ("coop", "__first__"),
    ]

    operations = [
        migrations.CreateModel(
            name="Item",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("lot", "lot"),
                            ("mix", "mix"),
                            ("soak", "soak"),
                            ("bag", "bag"),
                            ("sample", "retained sample"),
                            ("returned", "returned solution"),
                        ],
                        max_length=10,
                    ),
                ),
                ("unit", models.CharField(choices=[("mass", "grams"), ("pieces", "pieces")], max_length=6)),
                ("best_before", models.DateField(blank=True, null=True, verbose_name="best before")),
                ("made_at", models.DateTimeField()),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="note")),
                (
                    "code",
                    models.OneToOneField(
                        db_column="code",
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="item",
                        to="coop.code",
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="Material",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120, unique=True, verbose_name="name")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("acid", "oxalic acid dihydrate"),
                            ("glycerine", "glycerine"),
                            ("strip", "strip blanks"),
                            ("other", "other"),
                        ],
                        max_length=10,
                        verbose_name="kind",
                    ),
                ),
                (
                    "unit",
                    models.CharField(
                        choices=[("mass", "grams"), ("pieces", "pieces")], max_length=6, verbose_name="counted in"
                    ),
                ),
                ("low_level", models.BigIntegerField(blank=True, null=True, verbose_name="tell the coordinator below")),
                ("pack_size", models.BigIntegerField(blank=True, null=True, verbose_name="pack size")),
                (
                    "most_at_once",
                    models.BigIntegerField(blank=True, null=True, verbose_name="more than this at once is questioned"),
                ),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="Supplier",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120, unique=True, verbose_name="name")),
                ("address", models.CharField(blank=True, max_length=200, verbose_name="address")),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="phone")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("lead_days", models.PositiveSmallIntegerField(default=14, verbose_name="days from order to delivery")),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="Hold",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("reason", models.CharField(max_length=300, verbose_name="why")),
                (
                    "began_with",
                    models.CharField(
                        blank=True, help_text="words for what it began with, if not an item", max_length=120
                    ),
                ),
                ("placed_at", models.DateTimeField()),
                ("lifted_at", models.DateTimeField(blank=True, null=True)),
                ("lift_reason", models.CharField(blank=True, max_length=300, verbose_name="why lifted")),
                (
                    "lifted_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
                (
                    "placed_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="HoldSeed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "hold",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="seeds", to="inventory.hold"
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hold_seeds", to="inventory.item"
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("hold", "item"), name="inventory_holdseed_once")],
            },
        ),
        migrations.AddField(
            model_name="hold",
            name="items",
            field=models.ManyToManyField(related_name="holds", through="inventory.HoldSeed", to="inventory.item"),
        ),
        migrations.CreateModel(
            name="Freed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("reason", models.CharField(max_length=300)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "voided_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
                (
                    "hold",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="freed", to="inventory.hold"
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="freed_from", to="inventory.item"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("voided_by", None)), fields=("hold", "item"), name="inventory_freed_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Edge",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("mass_mg", models.BigIntegerField(default=0)),
                ("pieces", models.BigIntegerField(default=0)),
                (
                    "child",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="edges_up", to="inventory.item"
                    ),
                ),
                (
                    "parent",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="edges_down", to="inventory.item"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["child", "parent"], name="inventory_e_child_i_b3863a_idx")],
                "constraints": [
                    models.UniqueConstraint(fields=("parent", "child"), name="inventory_edge_once"),
                    models.CheckConstraint(
                        condition=models.Q(("mass_mg__gte", 0), ("pieces__gte", 0)), name="inventory_edge_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("parent", models.F("child")), _negated=True),
                        name="inventory_edge_not_itself",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="item",
            name="material",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="items",
                to="inventory.material",
            ),
        ),
        migrations.CreateModel(
            name="Place",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("shed", "shed or shelf"),
                            ("bench", "on the bench"),
                            ("retained", "retained samples"),
                            ("quarantine", "quarantine"),
                            ("member", "with a member"),
                            ("hives", "in hives"),
                            ("destroyed", "destroyed"),
                            ("lost", "lost"),
                            ("supplier", "from the supplier"),
                            ("made", "made"),
                            ("used", "used up"),
                            ("found", "found"),
                            ("unexplained", "unexplained"),
                        ],
                        max_length=12,
                    ),
                ),
                ("name", models.CharField(max_length=120, verbose_name="name")),
                ("is_the_one", models.BooleanField(default=False)),
                ("is_closed", models.BooleanField(default=False, verbose_name="no longer used")),
                (
                    "item",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="named_places",
                        to="inventory.item",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="places",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "name", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("is_the_one", True)), fields=("kind",), name="inventory_place_the_one"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("item__isnull", False)),
                        fields=("kind", "item"),
                        name="inventory_place_of_item",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("kind", "member")), fields=("person",), name="inventory_place_of_member"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("kind", "shed")), fields=("name",), name="inventory_place_shed_name"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "bench"), _negated=True), ("item__isnull", False), _connector="OR"
                        ),
                        name="inventory_place_bench_item",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["bench", "used"]), ("item__isnull", True), _connector="OR"),
                        name="inventory_place_item_only_bench",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind__in", ["member", "hives"]), _negated=True),
                            ("person__isnull", False),
                            _connector="OR",
                        ),
                        name="inventory_place_person",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Movement",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("quantity", models.BigIntegerField()),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("receive", "received"),
                            ("transfer", "moved"),
                            ("draw", "drawn"),
                            ("discard", "discarded"),
                            ("spill", "spilt"),
                            ("count", "counted"),
                            ("found", "found stock"),
                            ("weigh_in", "weighed in"),
                            ("mix", "mixed"),
                            ("pour", "poured"),
                            ("soak", "soaked"),
                            ("bag", "bagged"),
                            ("sample", "retained"),
                            ("return_solution", "returned solution"),
                            ("loss", "declared loss"),
                            ("unexplained", "unexplained"),
                            ("split", "split off"),
                            ("hand_over", "handed over"),
                            ("pass_on", "passed on"),
                            ("bring_back", "brought back"),
                            ("strips_in", "put in hives"),
                            ("strips_out", "taken out"),
                            ("missing", "missing"),
                            ("correct", "corrected"),
                        ],
                        max_length=16,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300)),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(auto_now_add=True)),
                (
                    "deed",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="movements", to="coop.deed"
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="movements", to="inventory.item"
                    ),
                ),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="inventory.movement",
                    ),
                ),
                (
                    "reverses",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reversed_by",
                        to="inventory.movement",
                    ),
                ),
                (
                    "source",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="movements_out", to="inventory.place"
                    ),
                ),
                (
                    "target",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="movements_in", to="inventory.place"
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [
                    models.Index(fields=["item", "-id"], name="inventory_m_item_id_6aa969_idx"),
                    models.Index(fields=["-happened_at", "-id"], name="inventory_m_happene_54d934_idx"),
                ],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("quantity__gt", 0)), name="inventory_movement_quantity"),
                    models.CheckConstraint(
                        condition=models.Q(("source", models.F("target")), _negated=True),
                        name="inventory_movement_goes",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Holding",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("quantity", models.BigIntegerField(default=0)),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="holdings", to="inventory.item"
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="holdings", to="inventory.place"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["place", "item"], name="inventory_h_place_i_5bef45_idx")],
                "constraints": [
                    models.UniqueConstraint(fields=("item", "place"), name="inventory_holding_once"),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 0)), name="inventory_holding_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Question",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("found", "more was used than the book held"),
                            ("circle", "made from itself, by the code entered"),
                            ("held", "used while on hold"),
                            ("late", "came in after the decision"),
                            ("amount", "an unlikely amount"),
                        ],
                        max_length=8,
                    ),
                ),
                ("text", models.CharField(max_length=300)),
                ("asked_at", models.DateTimeField(auto_now_add=True)),
                ("answer", models.CharField(blank=True, max_length=300)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="questions", to="inventory.item"
                    ),
                ),
                (
                    "movement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="questions",
                        to="inventory.movement",
                    ),
                ),
                (
                    "settled_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.AddField(
            model_name="material",
            name="supplier",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="materials",
                to="inventory.supplier",
            ),
        ),
        migrations.CreateModel(
            name="Lot",
            fields=[
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="lot",
                        serialize=False,
                        to="inventory.item",
                    ),
                ),
                (
                    "supplier_lot",
                    models.CharField(blank=True, db_index=True, max_length=80, verbose_name="supplier's lot"),
                ),
                ("grade", models.CharField(blank=True, max_length=80, verbose_name="grade")),
                (
                    "form",
                    models.CharField(
                        choices=[
                            ("dihydrate", "dihydrate"),
                            ("anhydrous", "anhydrous"),
                            ("unknown", "unknown"),
                            ("none", "does not apply"),
                        ],
                        default="none",
                        max_length=10,
                        verbose_name="form",
                    ),
                ),
                ("assay_ppb", models.BigIntegerField(blank=True, null=True, verbose_name="assay as dihydrate")),
                (
                    "certificate_names_form",
                    models.BooleanField(default=False, verbose_name="the certificate names the dihydrate"),
                ),
                (
                    "price_cents",
                    models.BigIntegerField(default=0, verbose_name="price of the whole lot; zero for a gift"),
                ),
                ("received_quantity", models.BigIntegerField()),
                ("dry_strip_mg", models.BigIntegerField(blank=True, null=True, verbose_name="dry mass of one strip")),
                ("uptake_mg", models.BigIntegerField(blank=True, null=True, verbose_name="uptake of one strip")),
                (
                    "certificate",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.document",
                    ),
                ),
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lots", to="inventory.supplier"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("price_cents__gte", 0)), name="inventory_lot_price"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("assay_ppb__isnull", True),
                            models.Q(("assay_ppb__gt", 0), ("assay_ppb__lte", 1500000000)),
                            _connector="OR",
                        ),
                        name="inventory_lot_assay",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Container",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=40, verbose_name="name")),
                ("tare_mg", models.BigIntegerField(blank=True, null=True, verbose_name="tare")),
                ("gross_mg", models.BigIntegerField(blank=True, null=True, verbose_name="gross, last weighed")),
                ("opened_on", models.DateField(blank=True, null=True, verbose_name="opened on")),
                ("emptied_on", models.DateField(blank=True, null=True, verbose_name="empty since")),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="containers", to="inventory.lot"
                    ),
                ),
            ],
            options={
                "ordering": ["lot", "id"],
                "constraints": [models.UniqueConstraint(fields=("lot", "name"), name="inventory_container_name")],
            },
        ),
        migrations.AddIndex(
            model_name="hold",
            index=models.Index(fields=["lifted_by"], name="inventory_h_lifted__0e30c3_idx"),
        ),
        migrations.AddIndex(
            model_name="item",
            index=models.Index(fields=["kind", "-id"], name="inventory_i_kind_50cfb5_idx"),
        ),
        migrations.AddConstraint(
            model_name="item",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("kind__in", ["soak", "bag", "sample"]), ("unit", "pieces")),
                    models.Q(("kind__in", ["mix", "returned"]), ("unit", "mass")),
                    ("kind", "lot"),
                    _connector="OR",
                ),
                name="inventory_item_unit",
            ),
        ),
        migrations.AddConstraint(
            model_name="item",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("kind", "lot"), _negated=True), ("material__isnull", False), _connector="OR"
                ),
                name="inventory_item_lot_material",
            ),
        ),
        migrations.AddConstraint(
            model_name="material",
            constraint=models.CheckConstraint(
                condition=models.Q(("low_level__isnull", True), ("low_level__gte", 0), _connector="OR"),
                name="inventory_material_low_level",
            ),
        ),
        migrations.AddConstraint(
            model_name="material",
            constraint=models.CheckConstraint(
                condition=models.Q(("pack_size__isnull", True), ("pack_size__gt", 0), _connector="OR"),
                name="inventory_material_pack",
            ),
        ),
        migrations.AddConstraint(
            model_name="material",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("kind", "strip"), ("unit", "pieces")),
                    models.Q(("kind__in", ["acid", "glycerine"]), ("unit", "mass")),
                    ("kind", "other"),
                    _connector="OR",
                ),
                name="inventory_material_unit",
            ),
        ),
    ]
