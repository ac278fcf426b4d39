"""People, tokens and oneself, as data. The list names and places people; how to reach them is behind a fresh code."""

from typing import Any

from rest_framework import generics, serializers

from coop.access import COORDINATOR, MEMBER, Mark
from coop.api.base import command_view
from coop.api.fields import Happened, Nothing
from coop.command import Refused
from coop.commands import invitations, people
from coop.models import ApiToken, Person, Role


class PersonBrief(serializers.ModelSerializer[Person]):
    class Meta:
        model = Person
        fields = ("id", "name", "role", "is_releaser", "joined_on")


class PersonWhole(serializers.ModelSerializer[Person]):
    class Meta:
        model = Person
        fields = (
            "id",
            "name",
            "email",
            "phone",
            "address",
            "role",
            "is_releaser",
            "wants_reminders",
            "joined_on",
            "left_at",
        )


class TokenRow(serializers.ModelSerializer[ApiToken]):
    class Meta:
        model = ApiToken
        fields = ("id", "name", "made_at", "last_used_at", "revoked_at")


class TokenMade(serializers.ModelSerializer[ApiToken]):
    """The word itself, shown to whoever sent this deed and to nobody else."""

    token = serializers.SerializerMethodField()

    class Meta:
        model = ApiToken
        fields = ("id", "name", "made_at", "token")

    def get_token(self, made: ApiToken) -> str:
        key = self.context["request"].headers["Idempotency-Key"].strip()
        return invitations.token_for(made.person_id, key)


class NewPerson(Happened):
    name = serializers.CharField(max_length=120)
    email = serializers.EmailField(required=False, allow_blank=True)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    address = serializers.CharField(max_length=200, required=False, allow_blank=True)
    role = serializers.ChoiceField(Role.choices, required=False)
    is_releaser = serializers.BooleanField(required=False)
    joined_on = serializers.DateField(required=False)


class PersonChange(Happened):
    name = serializers.CharField(max_length=120, required=False)
    email = serializers.EmailField(required=False, allow_blank=True)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    address = serializers.CharField(max_length=200, required=False, allow_blank=True)


class MeChange(Happened):
    name = serializers.CharField(max_length=120, required=False)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    address = serializers.CharField(max_length=200, required=False, allow_blank=True)
    wants_reminders = serializers.BooleanField(required=False)


class RoleChange(Happened):
    role = serializers.ChoiceField(Role.choices)


class ReleaserChange(Happened):
    may_release = serializers.BooleanField()


class NewToken(Happened):
    name = serializers.CharField(max_length=60)


class InvitationMade(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    valid_until = serializers.DateTimeField()


class People(generics.ListAPIView[Person]):
    """Everyone in the club: names and roles."""

    opens_to = Mark(COORDINATOR)
    serializer_class = PersonBrief
    queryset = Person.objects.here()
    filterset_fields = ("role", "is_releaser")


class PeopleWhole(generics.ListAPIView[Person]):
    """Everyone with how to reach them: an export, so it needs a fresh code."""

    opens_to = Mark(COORDINATOR, fresh=True)
    serializer_class = PersonWhole
    queryset = Person.objects.here()


class OnePerson(generics.RetrieveAPIView[Person]):
    """One person, with how to reach them."""

    opens_to = Mark(COORDINATOR)
    serializer_class = PersonWhole
    queryset = Person.objects.here()


class Me(generics.RetrieveAPIView[Person]):
    """What the club knows of whoever asks."""

    opens_to = Mark(MEMBER)
    serializer_class = PersonWhole

    def get_object(self) -> Person:
        person = self.request.user
        assert isinstance(person, Person)
        return person


class Tokens(generics.ListAPIView[ApiToken]):
    """The tokens of whoever asks; never the words themselves."""

    opens_to = Mark(MEMBER)
    serializer_class = TokenRow
    queryset = ApiToken.objects.none()

    def get_queryset(self) -> Any:
        return ApiToken.objects.filter(person_id=self.request.user.pk or 0)


def _person(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "person": generics.get_object_or_404(Person.objects.here(), pk=pk)}


def _me(view: Any, data: dict[str, Any]) -> dict[str, Any]:
    if not data:
        raise Refused("Nothing to change was sent.", code="empty")
    return {**data, "person": view.request.user}


def _my_token(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "token": generics.get_object_or_404(ApiToken, pk=pk, person=view.request.user)}


_DEEP = Mark(COORDINATOR, fresh=True)
add_person = command_view("AddPerson", people.add_person, NewPerson, _DEEP, PersonWhole)
change_person = command_view("ChangePerson", people.change_person, PersonChange, _DEEP, PersonWhole, _person)
set_role = command_view("SetRole", people.set_role, RoleChange, _DEEP, PersonWhole, _person)
set_releaser = command_view("SetReleaser", people.set_releaser, ReleaserChange, _DEEP, PersonWhole, _person)
leave = command_view("Leave", people.leave, Nothing, _DEEP, PersonWhole, _person)
invite = command_view("Invite", invitations.invite, Nothing, Mark(COORDINATOR), InvitationMade, _person)
sign_out = command_view(
    "SignOutEverywhere", people.sign_out_everywhere, Nothing, Mark(COORDINATOR), PersonBrief, _person
)
change_me = command_view("ChangeMe", people.change_person, MeChange, Mark(MEMBER), PersonWhole, _me)
make_token = command_view("MakeToken", invitations.make_token, NewToken, Mark(MEMBER, fresh=True), TokenMade)
revoke_token = command_view("RevokeToken", invitations.revoke_token, Nothing, Mark(MEMBER), TokenRow, _my_token)
