"""Addresses of the ground: sign-in, people, the club, letters, health."""

from allauth.account import views as library
from django.urls import URLPattern, URLResolver, path
from django.views.generic import RedirectView

from coop import access
from coop.pages import account, club, health, outbox, people, theme
from coop.pages.signin import fresh, links

urlpatterns: list[URLPattern | URLResolver] = [
    path("health", health.health, name="health"),
    path("theme/<str:theme>", theme.choose_theme, name="theme"),
    # sign-in, by the library
    path("sign-in", library.request_login_code, name="account_request_login_code"),
    path("sign-in/code", library.confirm_login_code, name="account_confirm_login_code"),
    path("sign-in/inactive", library.account_inactive, name="account_inactive"),
    path(
        "sign-in/start",
        RedirectView.as_view(pattern_name="account_request_login_code", query_string=True),
        name="account_login",
    ),
    path("sign-out", library.logout, name="account_logout"),
    # sign-in, by links and fresh codes
    path("fresh", fresh.confirm, name="fresh"),
    path("in/<str:word>", links.come_in, name="come_in"),
    path("shed/<str:word>", links.open_shed_phone, name="open_shed_phone"),
    path("no-reminders/<str:signed>", links.unsubscribe, name="unsubscribe"),
    # my page
    path("me", account.account, name="account"),
    path("me/change", account.change, name="account_change"),
    path("me/sign-out-everywhere", account.sign_out_everywhere, name="account_sign_out_everywhere"),
    path("me/tokens/new", account.make_token, name="token_new"),
    path("me/tokens/<int:pk>/revoke", account.revoke_token, name="token_revoke"),
    # people
    path("people", people.people_list, name="people"),
    path("people/new", people.add, name="person_new"),
    path("people/<int:pk>", people.person_page, name="person"),
    path("people/<int:pk>/change", people.change, name="person_change"),
    path("people/<int:pk>/role", people.role, name="person_role"),
    path("people/<int:pk>/releaser", people.releaser, name="person_releaser"),
    path("people/<int:pk>/invite", people.invite, name="person_invite"),
    path("people/<int:pk>/sign-out", people.sign_out, name="person_sign_out"),
    path("people/<int:pk>/call", people.call, name="person_call"),
    path("people/<int:pk>/leave", people.leave, name="person_leave"),
    path("shed-phones", account.shed_phones, name="shed_phones"),
    path("shed-phones/new", account.add_shed_phone, name="shed_phone_new"),
    path("shed-phones/<int:pk>/revoke", account.revoke_shed_phone, name="shed_phone_revoke"),
    # the club
    path("club", club.club_page, name="club"),
    path("club/change", club.change, name="club_change"),
    path("club/hive-kinds", club.hive_kinds, name="hive_kinds"),
    path("club/hive-kinds/new", club.add_hive_kind, name="hive_kind_new"),
    path("club/hive-kinds/<int:pk>", club.hive_kind, name="hive_kind"),
    path("club/legal-basis", club.legal_bases, name="legal_bases"),
    path("club/legal-basis/new", club.note_legal_basis, name="legal_basis_new"),
    path("club/legal-basis/<int:pk>", club.legal_basis, name="legal_basis"),
    path("club/legal-basis/<int:pk>/end", club.end_legal_basis, name="legal_basis_end"),
    # letters
    path("letters", outbox.outbox, name="outbox"),
    path("letters/<int:pk>", outbox.letter_page, name="letter"),
    path("letters/<int:pk>/again", outbox.send_again, name="letter_again"),
]

for _name in ("account_request_login_code", "account_confirm_login_code", "account_inactive", "account_login"):
    access.library_marks[_name] = access.Mark(access.NOBODY)
access.library_marks["account_logout"] = access.Mark(access.NOBODY)
