import django.db.models.deletion
import django.db.models.functions.text
from django.conf import settings
from django.db import migrations, models

import coop.models.club


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="Code",
            fields=[
                ("text", models.CharField(max_length=8, primary_key=True, serialize=False)),
                ("printed_at", models.DateTimeField(blank=True, null=True)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
            ],
        ),
        migrations.CreateModel(
            name="HiveKind",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60, unique=True, verbose_name="kind of hive")),
                ("order", models.PositiveSmallIntegerField(default=0)),
            ],
            options={
                "ordering": ["order", "name"],
            },
        ),
        migrations.CreateModel(
            name="Pulse",
            fields=[
                ("name", models.CharField(max_length=40, primary_key=True, serialize=False)),
                ("claimed_at", models.DateTimeField(blank=True, null=True)),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("note", models.CharField(blank=True, max_length=300)),
            ],
        ),
        migrations.CreateModel(
            name="Person",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                ("name", models.CharField(max_length=120, verbose_name="name")),
                ("email", models.EmailField(blank=True, max_length=254, null=True, verbose_name="e-mail")),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="phone")),
                ("address", models.CharField(blank=True, max_length=200, verbose_name="postal address")),
                (
                    "role",
                    models.CharField(
                        choices=[("member", "member"), ("volunteer", "volunteer"), ("coordinator", "coordinator")],
                        default="member",
                        max_length=12,
                        verbose_name="role",
                    ),
                ),
                ("is_releaser", models.BooleanField(default=False, verbose_name="may release batches")),
                ("is_system", models.BooleanField(default=False, editable=False)),
                ("is_active", models.BooleanField(default=True)),
                ("wants_reminders", models.BooleanField(default=True, verbose_name="wants reminders by mail")),
                ("joined_on", models.DateField(blank=True, null=True, verbose_name="joined on")),
                ("left_at", models.DateTimeField(blank=True, editable=False, null=True)),
            ],
            options={
                "ordering": ["name", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        django.db.models.functions.text.Lower("email"),
                        name="coop_person_email",
                        violation_error_message="This e-mail is already in the club.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("is_system", True)), fields=("is_system",), name="coop_person_one_system"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ApiToken",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60, verbose_name="what it is for")),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                ("last_used_at", models.DateTimeField(blank=True, null=True)),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="tokens", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["-made_at"],
            },
        ),
        migrations.CreateModel(
            name="Club",
            fields=[
                ("id", models.PositiveSmallIntegerField(default=1, editable=False, primary_key=True, serialize=False)),
                ("name", models.CharField(max_length=120, verbose_name="name")),
                (
                    "zone",
                    models.CharField(
                        default="UTC",
                        max_length=64,
                        validators=[coop.models.club._known_zone],
                        verbose_name="time zone",
                    ),
                ),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="phone for questions about a bag")),
                ("poison_phone", models.CharField(blank=True, max_length=40, verbose_name="poison line")),
                (
                    "shed_address",
                    models.CharField(blank=True, max_length=200, verbose_name="address of the shed, for an ambulance"),
                ),
                ("sheet_link", models.URLField(blank=True, verbose_name="supplier's safety data sheet")),
                ("signal_word", models.CharField(blank=True, max_length=20, verbose_name="signal word")),
                (
                    "hazard_text",
                    models.TextField(blank=True, verbose_name="hazard statements, as the supplier's sheet has them"),
                ),
                (
                    "mask_text",
                    models.CharField(blank=True, max_length=200, verbose_name="mask, of the class the sheet names"),
                ),
                (
                    "first_aid_text",
                    models.TextField(blank=True, verbose_name="first aid, as the supplier's sheet has it"),
                ),
                (
                    "can_titrate",
                    models.BooleanField(default=False, verbose_name="has a balance fine enough for a titration"),
                ),
                (
                    "one_dose_first",
                    models.BooleanField(default=False, verbose_name="one hive dose to every asker first"),
                ),
                ("bag_days", models.PositiveSmallIntegerField(default=180, verbose_name="days a bag keeps, from lift")),
                (
                    "limits",
                    models.JSONField(
                        blank=True, default=dict, verbose_name="bench limits that differ from the defaults"
                    ),
                ),
                ("is_demo", models.BooleanField(default=False, editable=False)),
                ("created_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "constraints": [models.CheckConstraint(condition=models.Q(("id", 1)), name="coop_club_single")],
            },
        ),
        migrations.CreateModel(
            name="Deed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=120)),
                ("verb", models.CharField(max_length=60)),
                ("fingerprint", models.CharField(max_length=64)),
                ("token", models.UUIDField()),
                (
                    "door",
                    models.CharField(
                        choices=[
                            ("page", "page"),
                            ("api", "API"),
                            ("task", "scheduled task"),
                            ("shell", "shell"),
                            ("import", "import"),
                            ("phone", "bench phone"),
                        ],
                        default="page",
                        max_length=8,
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(auto_now_add=True)),
                ("result", models.JSONField(null=True)),
                (
                    "actor",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="deeds", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["verb", "recorded_at"], name="coop_deed_verb_fdd036_idx")],
                "constraints": [models.UniqueConstraint(fields=("actor", "key"), name="coop_deed_once")],
            },
        ),
        migrations.CreateModel(
            name="Document",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120)),
                ("media_type", models.CharField(max_length=60)),
                ("content", models.BinaryField()),
                ("sha256", models.CharField(db_index=True, max_length=64)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
            ],
        ),
        migrations.CreateModel(
            name="FreshCode",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("digest", models.CharField(max_length=64)),
                ("valid_until", models.DateTimeField()),
                ("tries", models.PositiveSmallIntegerField(default=0)),
                ("used_for", models.CharField(blank=True, max_length=200)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="fresh_codes",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="Invitation",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("digest", models.CharField(max_length=64, unique=True)),
                (
                    "purpose",
                    models.CharField(
                        choices=[("invite", "invitation"), ("let_in", "from the shell")],
                        default="invite",
                        max_length=12,
                    ),
                ),
                ("valid_until", models.DateTimeField()),
                ("used_at", models.DateTimeField(blank=True, null=True)),
                (
                    "deed",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="invitations",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="LegalBasis",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "subject",
                    models.CharField(
                        choices=[
                            ("possession", "keeping strong acid"),
                            ("own_use", "use on one's own hives"),
                            ("supply", "supply to others"),
                        ],
                        max_length=12,
                    ),
                ),
                ("rule", models.CharField(max_length=200, verbose_name="the rule")),
                ("reference", models.CharField(max_length=200, verbose_name="where it stands")),
                ("checked_by", models.CharField(max_length=120, verbose_name="who checked")),
                ("valid_from", models.DateField(verbose_name="valid from")),
                ("valid_until", models.DateField(verbose_name="valid until")),
                ("ended_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "deed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="coop.deed"),
                ),
            ],
            options={
                "ordering": ["subject", "-valid_until", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("valid_until__gte", models.F("valid_from"))), name="coop_legalbasis_span"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Letter",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=160, unique=True)),
                ("to", models.EmailField(max_length=254)),
                ("subject", models.CharField(max_length=200)),
                ("body", models.TextField()),
                ("html", models.TextField(blank=True)),
                ("message_id", models.CharField(max_length=120, unique=True)),
                ("kind", models.CharField(default="reminder", max_length=20)),
                (
                    "is_secret",
                    models.BooleanField(default=False, help_text="a code or link to sign in: never shown to others"),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("queued", "queued"),
                            ("leased", "being sent"),
                            ("sent", "sent"),
                            ("failed", "failed"),
                            ("expired", "expired"),
                        ],
                        default="queued",
                        max_length=8,
                    ),
                ),
                ("attempts", models.PositiveSmallIntegerField(default=0)),
                ("last_error", models.CharField(blank=True, max_length=300)),
                ("send_after", models.DateTimeField()),
                ("expires_at", models.DateTimeField(blank=True, null=True)),
                ("leased_until", models.DateTimeField(blank=True, null=True)),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                (
                    "person",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="letters",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["state", "send_after"], name="coop_letter_state_726c3a_idx")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "leased"), _negated=True),
                            ("leased_until__isnull", False),
                            _connector="OR",
                        ),
                        name="coop_letter_lease",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Notice",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=160)),
                ("kind", models.CharField(help_text="registry key of the room's notice function", max_length=40)),
                (
                    "group",
                    models.CharField(
                        help_text="notices of one group replace each other; the latest stage stays", max_length=120
                    ),
                ),
                ("stage", models.SmallIntegerField(default=0)),
                ("facts", models.JSONField(default=dict)),
                (
                    "urgency",
                    models.CharField(
                        choices=[("daily", "daily"), ("soon", "soon"), ("now", "now")], default="daily", max_length=10
                    ),
                ),
                ("due_at", models.DateTimeField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("wanted", "wanted"),
                            ("bundled", "in a letter"),
                            ("dropped", "no longer true"),
                            ("phone", "to be told by phone"),
                            ("told", "told by phone"),
                        ],
                        default="wanted",
                        max_length=8,
                    ),
                ),
                ("wanted_at", models.DateTimeField(auto_now_add=True)),
                ("settled_at", models.DateTimeField(blank=True, null=True)),
                ("calls", models.PositiveSmallIntegerField(default=0, help_text="how often somebody was rung in vain")),
                ("last_call_at", models.DateTimeField(blank=True, null=True)),
                (
                    "letter",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="notices",
                        to="coop.letter",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="notices", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["due_at", "id"],
                "indexes": [models.Index(fields=["state", "due_at"], name="coop_notice_state_26ed43_idx")],
                "constraints": [models.UniqueConstraint(fields=("key", "person"), name="coop_notice_once")],
            },
        ),
        migrations.CreateModel(
            name="ShedPhone",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60, verbose_name="which phone")),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                ("opened_at", models.DateTimeField(blank=True, null=True)),
                ("valid_until", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="shed_phones",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
    ]
