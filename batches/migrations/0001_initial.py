import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("coop", "0001_initial"),
        ("coop", "__first__"),
        ("inventory", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="Bench",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("day", models.DateField(verbose_name="day")),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("planned", "planned"),
                            ("running", "running"),
                            ("closed", "closed"),
                            ("abandoned", "abandoned"),
                        ],
                        default="planned",
                        max_length=10,
                    ),
                ),
                ("plan", models.JSONField(default=dict)),
                ("limits", models.JSONField(default=dict)),
                ("ready", models.JSONField(blank=True, default=list, verbose_name="what stood ready")),
                ("room_mc", models.IntegerField(blank=True, null=True, verbose_name="room at the start")),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="note")),
                ("started_at", models.DateTimeField(blank=True, null=True)),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "blanks",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.item",
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="benches", to="inventory.place"
                    ),
                ),
                (
                    "recorder",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="benches_recorded",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-day", "-id"],
            },
        ),
        migrations.CreateModel(
            name="Equipment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, unique=True, verbose_name="name")),
                (
                    "kind",
                    models.CharField(
                        choices=[("scale", "scale"), ("thermometer", "thermometer")], max_length=12, verbose_name="kind"
                    ),
                ),
                ("resolution", models.BigIntegerField(verbose_name="smallest step it shows")),
                ("capacity", models.BigIntegerField(verbose_name="most it can show")),
                ("u_check", models.BigIntegerField(default=0, verbose_name="standard uncertainty of its checks")),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="note")),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
            ],
            options={
                "ordering": ["kind", "name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("capacity__gt", 0), ("resolution__gt", 0), ("u_check__gte", 0)),
                        name="batches_equipment_steps",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="EquipmentCheck",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("reference", models.BigIntegerField(verbose_name="reference")),
                ("reading", models.BigIntegerField(verbose_name="reading")),
                ("deviation", models.BigIntegerField()),
                (
                    "verdict",
                    models.CharField(
                        choices=[("fine", "fine"), ("warn", "near its limit"), ("bad", "not to be believed")],
                        max_length=4,
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                (
                    "bench",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="checks",
                        to="batches.bench",
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "equipment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="checks", to="batches.equipment"
                    ),
                ),
            ],
            options={
                "ordering": ["-happened_at", "-id"],
                "indexes": [models.Index(fields=["equipment", "-happened_at"], name="batches_equ_equipme_90d2f7_idx")],
            },
        ),
        migrations.CreateModel(
            name="Instructions",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120, verbose_name="name")),
                ("version", models.PositiveIntegerField()),
                ("days", models.PositiveSmallIntegerField(verbose_name="days in the hive")),
                ("supers_text", models.CharField(blank=True, max_length=300, verbose_name="honey supers")),
                ("withdrawal_text", models.CharField(blank=True, max_length=300, verbose_name="withdrawal")),
                ("source", models.CharField(max_length=300, verbose_name="where it comes from")),
                ("text", models.TextField(blank=True, verbose_name="what the member reads")),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
            ],
            options={
                "ordering": ["name", "-version"],
                "constraints": [
                    models.UniqueConstraint(fields=("name", "version"), name="batches_instructions_version"),
                    models.CheckConstraint(condition=models.Q(("days__gt", 0)), name="batches_instructions_days"),
                ],
            },
        ),
        migrations.AddField(
            model_name="bench",
            name="instructions",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="benches",
                to="batches.instructions",
            ),
        ),
        migrations.CreateModel(
            name="InstructionsDose",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("strips", models.PositiveSmallIntegerField(verbose_name="strips a hive")),
                (
                    "hive_kind",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="doses", to="coop.hivekind"
                    ),
                ),
                (
                    "instructions",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="doses", to="batches.instructions"
                    ),
                ),
            ],
            options={
                "ordering": ["hive_kind__order", "hive_kind__name"],
                "constraints": [
                    models.UniqueConstraint(fields=("instructions", "hive_kind"), name="batches_dose_once"),
                    models.CheckConstraint(condition=models.Q(("strips__gt", 0)), name="batches_dose_strips"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Mix",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveSmallIntegerField()),
                (
                    "bench",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="mixes", to="batches.bench"
                    ),
                ),
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="mix", to="inventory.item"
                    ),
                ),
            ],
            options={
                "ordering": ["bench", "number"],
                "constraints": [models.UniqueConstraint(fields=("bench", "number"), name="batches_mix_number")],
            },
        ),
        migrations.CreateModel(
            name="PailCheck",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("total_mg", models.BigIntegerField()),
                ("expected_mg", models.BigIntegerField()),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "mix",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pail_checks", to="batches.mix"
                    ),
                ),
                (
                    "scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pail_checks",
                        to="batches.equipment",
                    ),
                ),
            ],
            options={
                "ordering": ["happened_at", "id"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("total_mg__gt", 0)), name="batches_pailcheck_total")
                ],
            },
        ),
        migrations.CreateModel(
            name="Presence",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("gear", models.JSONField(default=list)),
                (
                    "bench",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="presences", to="batches.bench"
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="presences",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [models.UniqueConstraint(fields=("bench", "person"), name="batches_presence_once")],
            },
        ),
        migrations.CreateModel(
            name="Recipe",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120, verbose_name="name")),
                ("version", models.PositiveIntegerField()),
                ("w_ppb", models.BigIntegerField(verbose_name="strength aimed at, mass fraction of dihydrate")),
                ("uptake_mg", models.BigIntegerField(verbose_name="solution one strip takes up")),
                ("content_low_mg", models.BigIntegerField(verbose_name="strip content, at least")),
                ("content_high_mg", models.BigIntegerField(verbose_name="strip content, at most")),
                ("tub_mg", models.BigIntegerField(verbose_name="so much solution in the tub")),
                ("tub_strips", models.PositiveIntegerField(verbose_name="covers so many strips")),
                (
                    "u_w_ppb",
                    models.BigIntegerField(default=0, verbose_name="standard uncertainty of a strength weighed in"),
                ),
                ("soak_hours", models.PositiveSmallIntegerField(default=48, verbose_name="hours in the tub, aimed at")),
                ("steps", models.TextField(blank=True, verbose_name="steps, in the club's own words")),
                ("source", models.CharField(blank=True, max_length=300, verbose_name="where it comes from")),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
            ],
            options={
                "ordering": ["name", "-version"],
                "constraints": [
                    models.UniqueConstraint(fields=("name", "version"), name="batches_recipe_version"),
                    models.CheckConstraint(
                        condition=models.Q(("w_ppb__gt", 0), ("w_ppb__lt", 1000000000)), name="batches_recipe_w"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("tub_mg__gt", 0), ("tub_strips__gt", 0), ("u_w_ppb__gte", 0), ("uptake_mg__gt", 0)
                        ),
                        name="batches_recipe_amounts",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("content_high_mg__gt", models.F("content_low_mg")), ("content_low_mg__gt", 0)
                        ),
                        name="batches_recipe_band",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="bench",
            name="recipe",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="benches", to="batches.recipe"
            ),
        ),
        migrations.CreateModel(
            name="Soak",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveSmallIntegerField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("laid", "strips laid"),
                            ("soaking", "in the tub"),
                            ("lifted", "lifted"),
                            ("released", "released"),
                            ("rejected", "rejected"),
                            ("rework", "back to rework"),
                            ("abandoned", "abandoned"),
                        ],
                        default="laid",
                        max_length=10,
                    ),
                ),
                ("strips", models.PositiveIntegerField(verbose_name="strips laid")),
                ("laid_at", models.DateTimeField()),
                ("poured_at", models.DateTimeField(blank=True, null=True)),
                ("lifted_at", models.DateTimeField(blank=True, null=True)),
                ("min_mc", models.IntegerField(blank=True, null=True, verbose_name="room, lowest")),
                ("max_mc", models.IntegerField(blank=True, null=True, verbose_name="room, highest")),
                (
                    "clarity",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("lumps", "lumps"),
                            ("grains", "grains"),
                            ("cloudy", "cloudy"),
                            ("hazy", "hazy"),
                            ("clear", "clear"),
                            ("crystals", "crystals"),
                            ("coloured", "coloured"),
                        ],
                        max_length=8,
                        verbose_name="tub at lift",
                    ),
                ),
                ("drain_min", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="minutes drained")),
                (
                    "bench",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="soaks", to="batches.bench"
                    ),
                ),
                (
                    "blanks",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.item"
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="soak", to="inventory.item"
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["state", "poured_at"], name="batches_soa_state_19078f_idx")],
                "constraints": [
                    models.UniqueConstraint(fields=("bench", "number"), name="batches_soak_number"),
                    models.CheckConstraint(condition=models.Q(("strips__gt", 0)), name="batches_soak_strips"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("min_mc__isnull", True),
                            ("max_mc__isnull", True),
                            ("max_mc__gte", models.F("min_mc")),
                            _connector="OR",
                        ),
                        name="batches_soak_room",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Sample",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("strips", models.PositiveIntegerField(verbose_name="strips")),
                ("net_mg", models.BigIntegerField(blank=True, null=True, verbose_name="net")),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="sample", to="inventory.item"
                    ),
                ),
                (
                    "scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="samples",
                        to="batches.equipment",
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="samples", to="batches.soak"
                    ),
                ),
            ],
            options={
                "ordering": ["soak", "id"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("strips__gt", 0)), name="batches_sample_strips")
                ],
            },
        ),
        migrations.CreateModel(
            name="ReturnedSolution",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("mass_mg", models.BigIntegerField()),
                ("container", models.CharField(blank=True, max_length=80, verbose_name="container")),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="returned", to="inventory.item"
                    ),
                ),
                (
                    "mix",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="returned",
                        to="batches.mix",
                    ),
                ),
                (
                    "scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="returned",
                        to="batches.equipment",
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="returned",
                        to="batches.soak",
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("mix__isnull", False), ("soak__isnull", True)),
                            models.Q(("mix__isnull", True), ("soak__isnull", False)),
                            _connector="OR",
                        ),
                        name="batches_returned_from_one",
                    ),
                    models.CheckConstraint(condition=models.Q(("mass_mg__gt", 0)), name="batches_returned_mass"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Release",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "verdict",
                    models.CharField(
                        choices=[("released", "released"), ("rejected", "rejected"), ("rework", "back to rework")],
                        max_length=8,
                    ),
                ),
                ("table", models.JSONField(default=dict)),
                ("note", models.CharField(blank=True, max_length=500, verbose_name="note")),
                ("decided_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="releases",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="releases", to="batches.soak"
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("verdict", "released")), fields=("soak",), name="batches_release_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Reading",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("solution_mc", models.IntegerField(verbose_name="solution")),
                ("bath_mc", models.IntegerField(blank=True, null=True, verbose_name="bath")),
                ("was_stirred", models.BooleanField(default=False, verbose_name="stirred")),
                (
                    "clarity",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("lumps", "lumps"),
                            ("grains", "grains"),
                            ("cloudy", "cloudy"),
                            ("hazy", "hazy"),
                            ("clear", "clear"),
                            ("crystals", "crystals"),
                            ("coloured", "coloured"),
                        ],
                        max_length=8,
                        verbose_name="clarity",
                    ),
                ),
                ("corrected_mc", models.IntegerField()),
                ("expanded_mc", models.IntegerField(verbose_name="U, k = 2")),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "mix",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="batches.mix",
                    ),
                ),
                (
                    "thermometer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="batches.equipment",
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="batches.soak",
                    ),
                ),
            ],
            options={
                "ordering": ["happened_at", "id"],
                "indexes": [models.Index(fields=["mix", "happened_at"], name="batches_rea_mix_id_e36d23_idx")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("mix__isnull", False), ("soak__isnull", True)),
                            models.Q(("mix__isnull", True), ("soak__isnull", False)),
                            _connector="OR",
                        ),
                        name="batches_reading_of_one",
                    ),
                    models.CheckConstraint(condition=models.Q(("expanded_mc__gte", 0)), name="batches_reading_u"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Pour",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("before_mg", models.BigIntegerField(blank=True, null=True, verbose_name="pail before")),
                ("after_mg", models.BigIntegerField(blank=True, null=True, verbose_name="pail after")),
                ("mass_mg", models.BigIntegerField()),
                ("temp_mc", models.IntegerField(blank=True, null=True, verbose_name="solution")),
                (
                    "clarity",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("lumps", "lumps"),
                            ("grains", "grains"),
                            ("cloudy", "cloudy"),
                            ("hazy", "hazy"),
                            ("clear", "clear"),
                            ("crystals", "crystals"),
                            ("coloured", "coloured"),
                        ],
                        max_length=8,
                        verbose_name="clarity",
                    ),
                ),
                ("covered_mm", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="covered by, mm")),
                ("is_topup", models.BooleanField(default=False, verbose_name="topping up")),
                ("has_lid", models.BooleanField(default=False, verbose_name="weight on, lid on")),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "mix",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pours", to="batches.mix"
                    ),
                ),
                (
                    "scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pours",
                        to="batches.equipment",
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pours", to="batches.soak"
                    ),
                ),
            ],
            options={
                "ordering": ["happened_at", "id"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("mass_mg__gt", 0)), name="batches_pour_mass")
                ],
            },
        ),
        migrations.CreateModel(
            name="MarkedStrip",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("n", models.PositiveSmallIntegerField()),
                ("dry_mg", models.BigIntegerField()),
                ("wet_mg", models.BigIntegerField(blank=True, null=True)),
                ("dry_at", models.DateTimeField()),
                ("wet_at", models.DateTimeField(blank=True, null=True)),
                (
                    "dry_scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="marked_dry",
                        to="batches.equipment",
                    ),
                ),
                (
                    "wet_scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="marked_wet",
                        to="batches.equipment",
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="marked", to="batches.soak"
                    ),
                ),
            ],
            options={
                "ordering": ["soak", "n"],
                "constraints": [
                    models.UniqueConstraint(fields=("soak", "n"), name="batches_marked_n"),
                    models.CheckConstraint(condition=models.Q(("dry_mg__gt", 0)), name="batches_marked_dry"),
                    models.CheckConstraint(
                        condition=models.Q(("wet_mg__isnull", True), ("wet_mg__gt", 0), _connector="OR"),
                        name="batches_marked_wet",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Look",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("is_covered", models.BooleanField(default=True, verbose_name="all covered")),
                ("has_crystals", models.BooleanField(default=False, verbose_name="crystals")),
                ("min_mc", models.IntegerField(blank=True, null=True, verbose_name="room, lowest")),
                ("max_mc", models.IntegerField(blank=True, null=True, verbose_name="room, highest")),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="note")),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="looks", to="batches.soak"
                    ),
                ),
            ],
            options={
                "ordering": ["happened_at", "id"],
            },
        ),
        migrations.CreateModel(
            name="Deviation",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=24)),
                ("text", models.CharField(max_length=300, verbose_name="what happened")),
                ("reason", models.CharField(blank=True, max_length=500, verbose_name="why it may pass")),
                ("is_accepted", models.BooleanField(blank=True, null=True)),
                ("decision", models.CharField(blank=True, max_length=300, verbose_name="words of the decision")),
                (
                    "bench",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="deviations", to="batches.bench"
                    ),
                ),
                (
                    "decided",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
                (
                    "opened",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "reasoned",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="deviations",
                        to="batches.soak",
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("decided__isnull", True), ("is_accepted__isnull", True)),
                            models.Q(("decided__isnull", False), ("is_accepted__isnull", False)),
                            _connector="OR",
                        ),
                        name="batches_deviation_decided",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Bag",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("strips", models.PositiveIntegerField(verbose_name="strips")),
                ("tare_mg", models.BigIntegerField(blank=True, null=True, verbose_name="empty bag")),
                ("gross_mg", models.BigIntegerField(blank=True, null=True, verbose_name="full bag")),
                ("net_mg", models.BigIntegerField(blank=True, null=True, verbose_name="net")),
                ("has_label", models.BooleanField(default=True, verbose_name="label in place")),
                ("split_reason", models.CharField(blank=True, max_length=300)),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="bag", to="inventory.item"
                    ),
                ),
                (
                    "parent",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parts",
                        to="batches.bag",
                    ),
                ),
                (
                    "split_off",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
                (
                    "scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bags",
                        to="batches.equipment",
                    ),
                ),
                (
                    "soak",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="bags", to="batches.soak"
                    ),
                ),
            ],
            options={
                "ordering": ["soak", "id"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("strips__gt", 0)), name="batches_bag_strips"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("parent__isnull", False),
                            models.Q(("net_mg__gt", 0), ("net_mg__isnull", False)),
                            _connector="OR",
                        ),
                        name="batches_bag_net",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Solution",
            fields=[
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        primary_key=True,
                        related_name="solution",
                        serialize=False,
                        to="inventory.item",
                    ),
                ),
                ("w_ppb", models.BigIntegerField(blank=True, null=True)),
                ("u_ppb", models.BigIntegerField(default=0)),
                ("weighed_ppb", models.BigIntegerField(blank=True, null=True)),
                (
                    "source",
                    models.CharField(
                        choices=[("computed", "computed"), ("titrated", "titrated")], default="computed", max_length=8
                    ),
                ),
                ("reuse", models.PositiveSmallIntegerField(default=0)),
                ("reheats", models.PositiveSmallIntegerField(default=0)),
                (
                    "clarity",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("lumps", "lumps"),
                            ("grains", "grains"),
                            ("cloudy", "cloudy"),
                            ("hazy", "hazy"),
                            ("clear", "clear"),
                            ("crystals", "crystals"),
                            ("coloured", "coloured"),
                        ],
                        max_length=8,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("w_ppb__isnull", True),
                            models.Q(("w_ppb__gte", 0), ("w_ppb__lte", 1500000000)),
                            _connector="OR",
                        ),
                        name="batches_solution_w",
                    ),
                    models.CheckConstraint(condition=models.Q(("u_ppb__gte", 0)), name="batches_solution_u"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Titration",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("w_ppb", models.BigIntegerField()),
                ("u_ppb", models.BigIntegerField()),
                ("method", models.CharField(max_length=300, verbose_name="how, and with what")),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="titrations", to="inventory.item"
                    ),
                ),
            ],
            options={
                "ordering": ["-happened_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("u_ppb__gte", 0), ("w_ppb__gt", 0), ("w_ppb__lt", 1500000000)),
                        name="batches_titration_w",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Weighing",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("target_mg", models.BigIntegerField(blank=True, null=True)),
                ("mass_mg", models.BigIntegerField()),
                ("tare_mg", models.BigIntegerField(blank=True, null=True, verbose_name="before")),
                ("gross_mg", models.BigIntegerField(blank=True, null=True, verbose_name="after")),
                ("first_mass_mg", models.BigIntegerField(verbose_name="as first entered")),
                ("was_caked", models.BooleanField(default=False, verbose_name="caked")),
                ("reason", models.CharField(blank=True, max_length=300, verbose_name="why corrected")),
                ("happened_at", models.DateTimeField()),
                (
                    "container",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.container",
                    ),
                ),
                (
                    "corrected",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "drawn",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.movement"
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="weighings", to="inventory.item"
                    ),
                ),
                (
                    "made",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.movement"
                    ),
                ),
                (
                    "mix",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="weighings", to="batches.mix"
                    ),
                ),
                (
                    "scale",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="weighings",
                        to="batches.equipment",
                    ),
                ),
                (
                    "second_eyes",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["happened_at", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("first_mass_mg__gt", 0), ("mass_mg__gte", 0)), name="batches_weighing_mass"
                    )
                ],
            },
        ),
        migrations.AddIndex(
            model_name="bench",
            index=models.Index(fields=["state", "-day"], name="batches_ben_state_314f56_idx"),
        ),
        migrations.AddConstraint(
            model_name="bench",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "running"), _negated=True),
                    models.Q(("recorder__isnull", False), ("started_at__isnull", False)),
                    _connector="OR",
                ),
                name="batches_bench_running",
            ),
        ),
        migrations.AddConstraint(
            model_name="bench",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("state__in", ["planned", "running"]), ("closed_at__isnull", False), _connector="OR"
                ),
                name="batches_bench_ended",
            ),
        ),
    ]
