"""What every page knows: the club, and whether it is the demo."""

from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from coop.models import Club


def everywhere(request: HttpRequest) -> dict[str, Any]:
    """`club` costs one query, and only where a template asks for it; None before the first start for a club."""
    return {"club": SimpleLazyObject(lambda: Club.objects.first())}
