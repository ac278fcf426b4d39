import django.db.models.deletion
import django.db.models.expressions
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("batches", "0001_initial"),
        ("coop", "0001_initial"),
        ("coop", "__first__"),
        ("inventory", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="Apiary",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, verbose_name="name")),
                ("where", models.CharField(blank=True, max_length=120, verbose_name="roughly where")),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "keeper",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="apiaries",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "place",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="apiary", to="inventory.place"
                    ),
                ),
            ],
            options={
                "ordering": ["name", "id"],
                "constraints": [models.UniqueConstraint(fields=("keeper", "name"), name="members_apiary_name")],
            },
        ),
        migrations.CreateModel(
            name="Hive",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("label", models.CharField(max_length=40, verbose_name="mark on the hive")),
                ("from_on", models.DateField(verbose_name="there since")),
                ("until_on", models.DateField(blank=True, null=True, verbose_name="gone on")),
                (
                    "ending",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("lost", "lost"),
                            ("sold", "sold or given away"),
                            ("merged", "merged into another"),
                            ("moved", "moved to another apiary"),
                        ],
                        max_length=8,
                        verbose_name="how it ended",
                    ),
                ),
                (
                    "apiary",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hives", to="members.apiary"
                    ),
                ),
                (
                    "came_from",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="went_on_as",
                        to="members.hive",
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "ended_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coop.deed",
                    ),
                ),
                (
                    "kind",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hives", to="coop.hivekind"
                    ),
                ),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="took_in",
                        to="members.hive",
                    ),
                ),
            ],
            options={
                "ordering": ["apiary", "id"],
                "indexes": [models.Index(fields=["apiary", "until_on"], name="members_hiv_apiary__b2b3c2_idx")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("until_on", None), ("until_on__gte", models.F("from_on")), _connector="OR"),
                        name="members_hive_span",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("ending", ""), ("until_on", None)),
                            models.Q(("until_on__isnull", False), models.Q(("ending", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="members_hive_ending",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Return",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("strips", models.PositiveIntegerField()),
                ("is_unopened", models.BooleanField(verbose_name="the bag was never opened")),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why")),
                ("happened_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="brought_back", to="inventory.item"
                    ),
                ),
                (
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="bring_back", to="inventory.movement"
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="brought_back",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-happened_at", "-id"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("strips__gt", 0)), name="members_return_strips")
                ],
            },
        ),
        migrations.CreateModel(
            name="Round",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, verbose_name="name")),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("draft", "being planned"),
                            ("open", "open for asks"),
                            ("closed", "asks are in"),
                            ("shared", "shared out"),
                            ("ended", "ended"),
                        ],
                        default="draft",
                        max_length=8,
                    ),
                ),
                ("opens_at", models.DateTimeField(verbose_name="opens")),
                ("closes_at", models.DateTimeField(verbose_name="closes")),
                (
                    "one_dose_first",
                    models.BooleanField(default=False, verbose_name="one hive dose to every asker first"),
                ),
                ("frozen_on", models.DateField(blank=True, null=True, verbose_name="hives frozen on")),
                ("drawn_how", models.CharField(blank=True, max_length=120, verbose_name="how the numbers were drawn")),
                ("opened_at", models.DateTimeField(blank=True, null=True)),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                ("shared_at", models.DateTimeField(blank=True, null=True)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "instructions",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="rounds", to="batches.instructions"
                    ),
                ),
            ],
            options={
                "ordering": ["-opens_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("closes_at__gt", models.F("opens_at"))), name="members_round_span"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("state", "draft"), ("frozen_on__isnull", False), _connector="OR"),
                        name="members_round_frozen",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Ask",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("asked", models.PositiveIntegerField()),
                ("doses", models.PositiveIntegerField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "hive_kind",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="asks", to="coop.hivekind"
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="asks", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "round",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="asks", to="members.round"
                    ),
                ),
            ],
            options={
                "ordering": ["round", "person", "hive_kind"],
                "constraints": [
                    models.UniqueConstraint(fields=("round", "person", "hive_kind"), name="members_ask_once"),
                    models.CheckConstraint(
                        condition=models.Q(("doses__lte", models.F("asked"))), name="members_ask_capped"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="RoundKeeper",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("hives", models.PositiveIntegerField()),
                ("hives_by_kind", models.JSONField(help_text="hive kind id, as text, to how many hives")),
                ("last_got", models.PositiveIntegerField(default=0)),
                ("last_asked", models.PositiveIntegerField(default=0)),
                ("drawn", models.PositiveIntegerField()),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="rounds", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "round",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="keepers", to="members.round"
                    ),
                ),
            ],
            options={
                "ordering": ["-hives", "drawn"],
                "constraints": [
                    models.UniqueConstraint(fields=("round", "person"), name="members_roundkeeper_once"),
                    models.UniqueConstraint(fields=("round", "drawn"), name="members_roundkeeper_drawn"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Share",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("asked", models.PositiveIntegerField()),
                ("doses", models.PositiveIntegerField()),
                ("by_kind", models.JSONField(help_text="hive kind id, as text, to hive doses")),
                ("strips", models.PositiveIntegerField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "to be collected"),
                            ("collected", "collected"),
                            ("no_show", "did not come"),
                            ("none", "nothing this time"),
                        ],
                        default="waiting",
                        max_length=10,
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="shares", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "round",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="shares", to="members.round"
                    ),
                ),
            ],
            options={
                "ordering": ["round", "-doses", "person__name"],
                "constraints": [
                    models.UniqueConstraint(fields=("round", "person"), name="members_share_once"),
                    models.CheckConstraint(
                        condition=models.Q(("doses__lte", models.F("asked"))), name="members_share_not_above_ask"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HandOver",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(choices=[("hand_over", "handed over"), ("pass_on", "passed on")], max_length=10),
                ),
                ("strips", models.PositiveIntegerField()),
                ("cautions_acknowledged", models.BooleanField(default=False, verbose_name="cautions acknowledged")),
                ("happened_at", models.DateTimeField()),
                (
                    "collected_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="collected",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "giver",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="gave", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hand_overs", to="inventory.item"
                    ),
                ),
                (
                    "legal_basis",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hand_overs",
                        to="coop.legalbasis",
                    ),
                ),
                (
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hand_over", to="inventory.movement"
                    ),
                ),
                (
                    "receiver",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="got", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "share",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hand_overs",
                        to="members.share",
                    ),
                ),
            ],
            options={
                "ordering": ["-happened_at", "-id"],
                "indexes": [models.Index(fields=["receiver", "-happened_at"], name="members_han_receive_a98193_idx")],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("strips__gt", 0)), name="members_handover_strips"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind", "pass_on"),
                            models.Q(("cautions_acknowledged", True), ("legal_basis__isnull", False)),
                            _connector="OR",
                        ),
                        name="members_handover_lawful",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ShareOut",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("frozen", models.JSONField()),
                ("digest", models.CharField(max_length=64)),
                ("result", models.JSONField()),
                ("strips", models.PositiveIntegerField(verbose_name="strips divided")),
                ("strips_left", models.PositiveIntegerField(verbose_name="strips left over")),
                ("doses", models.PositiveIntegerField(verbose_name="hive doses given in all")),
                ("made_at", models.DateTimeField()),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "goes_on_from",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="went_on_as",
                        to="members.shareout",
                    ),
                ),
                (
                    "round",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="share_outs", to="members.round"
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="Treatment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("in_on", models.DateField(verbose_name="in on")),
                ("due_on", models.DateField(verbose_name="due out on")),
                ("out_on", models.DateField(blank=True, null=True, verbose_name="out on")),
                ("is_late", models.BooleanField(default=False, verbose_name="entered on a later day")),
                (
                    "sequence",
                    models.PositiveIntegerField(default=0, help_text="rises when a date changes, for calendars"),
                ),
                (
                    "apiary",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="treatments", to="members.apiary"
                    ),
                ),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
                (
                    "instructions",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="treatments",
                        to="batches.instructions",
                    ),
                ),
            ],
            options={
                "ordering": ["-in_on", "-id"],
                "indexes": [models.Index(fields=["out_on", "due_on"], name="members_tre_out_on_bc7880_idx")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("due_on__gt", models.F("in_on"))), name="members_treatment_due"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentLine",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("strips_in", models.PositiveIntegerField()),
                ("strips_out", models.PositiveIntegerField(default=0)),
                ("strips_chewed", models.PositiveIntegerField(default=0, verbose_name="chewed away")),
                (
                    "hive",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="treatments", to="members.hive"
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="treatments", to="inventory.item"
                    ),
                ),
                (
                    "treatment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="lines", to="members.treatment"
                    ),
                ),
            ],
            options={
                "ordering": ["treatment", "hive", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("treatment", "hive", "item"), name="members_line_once"),
                    models.CheckConstraint(condition=models.Q(("strips_in__gt", 0)), name="members_line_strips"),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "strips_in__gte",
                                django.db.models.expressions.CombinedExpression(
                                    models.F("strips_out"), "+", models.F("strips_chewed")
                                ),
                            )
                        ),
                        name="members_line_not_more_out",
                    ),
                ],
            },
        ),
    ]
