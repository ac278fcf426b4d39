"""Addresses of the ground under /api/v1/."""

from django.urls import URLPattern, URLResolver, path

from coop.api import club, fresh, people, schema  # noqa: F401  (the schema extension registers itself)

urlpatterns: list[URLPattern | URLResolver] = [
    path("me", people.Me.as_view(), name="api_me"),
    path("me/change", people.change_me, name="api_me_change"),
    path("fresh-code", fresh.FreshCode.as_view(), name="api_fresh_code"),
    path("tokens", people.Tokens.as_view(), name="api_tokens"),
    path("tokens/make", people.make_token, name="api_token_make"),
    path("tokens/<int:pk>/revoke", people.revoke_token, name="api_token_revoke"),
    path("people", people.People.as_view(), name="api_people"),
    path("people/export", people.PeopleWhole.as_view(), name="api_people_export"),
    path("people/add", people.add_person, name="api_person_add"),
    path("people/<int:pk>", people.OnePerson.as_view(), name="api_person"),
    path("people/<int:pk>/change", people.change_person, name="api_person_change"),
    path("people/<int:pk>/role", people.set_role, name="api_person_role"),
    path("people/<int:pk>/releaser", people.set_releaser, name="api_person_releaser"),
    path("people/<int:pk>/invite", people.invite, name="api_person_invite"),
    path("people/<int:pk>/sign-out", people.sign_out, name="api_person_sign_out"),
    path("people/<int:pk>/leave", people.leave, name="api_person_leave"),
    path("club", club.TheClub.as_view(), name="api_club"),
    path("club/change", club.change_club, name="api_club_change"),
    path("hive-kinds", club.HiveKinds.as_view(), name="api_hive_kinds"),
    path("hive-kinds/add", club.add_hive_kind, name="api_hive_kind_add"),
    path("hive-kinds/<int:pk>/change", club.change_hive_kind, name="api_hive_kind_change"),
    path("legal-bases", club.LegalBases.as_view(), name="api_legal_bases"),
    path("legal-bases/note", club.note_legal_basis, name="api_legal_basis_note"),
    path("legal-bases/<int:pk>/end", club.end_legal_basis, name="api_legal_basis_end"),
]
