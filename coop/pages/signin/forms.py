"""The sign-in form in the words of the other pages."""

from typing import Any

from allauth.account.forms import RequestLoginCodeForm
from django.utils.translation import gettext as _


class AskForCode(RequestLoginCodeForm):  # type: ignore[misc]
    """One box with its label above it; a word inside the box would be read twice."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        box = self.fields["email"]
        box.label = _("E-mail")
        box.widget.attrs.pop("placeholder", None)
