"""How the Bench works, in plain words."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from coop import access
from coop.parts import Crumb

SUBJECTS = {
    "recipes": gettext_lazy("Recipes and instructions"),
    "plan": gettext_lazy("Planning a batch"),
    "mix": gettext_lazy("Mixing and heating"),
    "soak": gettext_lazy("Soaking and lifting"),
    "bag": gettext_lazy("Bags and what is left"),
    "release": gettext_lazy("The release"),
    "instruments": gettext_lazy("Scales and thermometers"),
}


@require_safe
@access.opens_to(access.MEMBER)
def help_page(request: HttpRequest, subject: str = "") -> HttpResponse:
    """The list of subjects, or one of them."""
    if subject and subject not in SUBJECTS:
        raise Http404
    way = [Crumb(_("How the Bench works"), reverse("batches:help") if subject else "")]
    known = {
        "title": SUBJECTS[subject] if subject else _("How the Bench works"),
        "subjects": SUBJECTS.items(),
        "subject": subject,
        "text": f"batches/help/{subject}.html" if subject else "",
        "crumbs": [*way, Crumb(str(SUBJECTS[subject]))] if subject else [],
        "place": "bench",
    }
    return render(request, "batches/help.html", known)
