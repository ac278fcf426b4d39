"""The page that asks for a fresh code, and goes on with what was begun."""

from urllib.parse import urlsplit

from allauth.account.adapter import get_adapter
from allauth.core import ratelimit
from allauth.core.internal.httpkit import deserialize_request
from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from coop import access, fresh, letters, signin
from coop.access import MEMBER, opens_to
from coop.models import Person


class CodeForm(forms.Form):
    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=20,
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )


@opens_to(MEMBER)
@never_cache
@require_http_methods(["GET", "POST"])
def confirm(request: HttpRequest) -> HttpResponseBase:
    """Ask for a code by mail, take it, and go on where the person was; what a form held is sent on then."""
    back = _safe(request, request.POST.get("next") or request.GET.get("next") or "/")
    person = request.user
    assert isinstance(person, Person)
    if request.method == "POST" and request.POST.get("action") == "send":
        return _send(request, person, back)
    form = CodeForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        if not ratelimit.consume(request, action="reauthenticate", user=person):
            form.add_error("code", str(get_adapter().error_messages["too_many_login_attempts"]))
        elif fresh.spend(person, form.cleaned_data["code"], f"page {request.session.session_key}"):
            fresh.now_fresh(request)
            return _go_on(request, back)
        else:
            form.add_error("code", str(get_adapter().error_messages["incorrect_code"]))
    known = {"form": form, "back": back, "is_sent": "sent" in request.GET or request.method == "POST"}
    return render(request, "coop/fresh.html", known, status=422 if form.errors else 200)


def _send(request: HttpRequest, person: Person, back: str) -> HttpResponse:
    here = f"{reverse('fresh')}?{urlencode({'next': back, 'sent': '1'})}"
    if not ratelimit.consume(request, action="reauthenticate", user=person):
        messages.error(request, str(get_adapter().error_messages["rate_limited"]))
        return redirect(here)
    is_demo = letters.is_demo()
    if not person.email and not is_demo:
        messages.error(request, _("No e-mail is known for you. Sign in once more with a link from a coordinator."))
        return redirect(f"{reverse('fresh')}?{urlencode({'next': back})}")
    code = fresh.make(person)
    if is_demo:
        signin.show_demo_code(request, code)
    else:
        signin.send_fresh_code(person, code)
    return redirect(here)


def _go_on(request: HttpRequest, back: str) -> HttpResponseBase:
    """Send on what waited, if it still opens to this person; else open the page that was asked for."""
    waiting = fresh.take_waiting(request, back)
    if waiting is None:
        return redirect(back)
    match = resolve(urlsplit(back).path)
    mark = access.mark_of(match.func, match.view_name)
    if mark is None or not access.allows(mark, request.user):
        raise Http404
    again = deserialize_request(waiting, request)
    again.resolver_match = match
    answer: HttpResponseBase = match.func(again, *match.args, **match.kwargs)
    return answer


def _safe(request: HttpRequest, url: str) -> str:
    is_ours = url_has_allowed_host_and_scheme(url, {request.get_host()}, require_https=request.is_secure())
    return url if is_ours and url.startswith("/") else "/"
