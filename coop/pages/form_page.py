"""A page that is one form for one deed."""

from collections.abc import Callable, Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from coop.pages.base import DeedForm, carry_out
from coop.parts import Crumb


def form_page(
    request: HttpRequest,
    form: DeedForm,
    command: Callable[..., Any],
    *,
    title: str,
    word: str,
    back: str,
    done: str,
    lead: str = "",
    texts: Sequence[str] = (),
    crumbs: Sequence[Crumb] = (),
    tone: str = "filled",
    go_to: Callable[[Any], str] | None = None,
    **arguments: Any,
) -> HttpResponse:
    """Draw the form, or do its deed and go on to `go_to(result)`, else `back`; a refusal shows the form again.

    `word` stands on the button, `done` is said afterwards; `texts` are read before the form, line by line. `form` is
    bound by the caller on POST.
    """
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, command, **arguments)
        if outcome.done:
            messages.success(request, done)
            return redirect(go_to(outcome.result) if go_to else back)
        status = outcome.status
    known = {"form": form, "title": title, "lead": lead, "texts": texts, "word": word, "back": back}
    known |= {"crumbs": crumbs, "tone": tone}
    return render(request, "coop/form_page.html", known, status=status)


def filled(request: HttpRequest, form_class: type[DeedForm], **kwargs: Any) -> Any:
    """The form with what was posted, or empty on a first visit."""
    return form_class(request.POST if request.method == "POST" else None, **kwargs)
