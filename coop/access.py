"""Access marks: every view says who it opens to; a view without a mark opens to nobody.

The middleware reads the mark of pages, the API's permission class reads the same mark of API views.
What is another's answers 404: that is for the querysets (`visible_to`), not for the mark.
"""

import dataclasses
import enum
from collections.abc import Callable
from typing import Any, TypeVar

from coop.models.people import Person

V = TypeVar("V", bound=Callable[..., Any])


class Who(enum.Enum):
    """Who a view opens to, from the widest to the narrowest."""

    NOBODY = "nobody"  # no sign-in asked
    MEMBER = "member"
    VOLUNTEER = "volunteer"
    COORDINATOR = "coordinator"
    RELEASER = "releaser"


NOBODY, MEMBER, VOLUNTEER, COORDINATOR, RELEASER = Who


@dataclasses.dataclass(frozen=True)
class Mark:
    who: Who
    fresh: bool = False


def opens_to(who: Who, *, fresh: bool = False) -> Callable[[V], V]:
    """Mark a page. `fresh`: a sign-in code entered within the last minutes is asked for."""

    def decorate(view: V) -> V:
        view.opens_to = Mark(who, fresh)  # type: ignore[attr-defined]
        return view

    return decorate


#: views of libraries, by view name (namespace:name), filled by the roof
library_marks: dict[str, Mark] = {}


def mark_of(view: Any, view_name: str = "") -> Mark | None:
    """The mark of a resolved view, page or API; None when nobody gave it one."""
    for bearer in (view, getattr(view, "cls", None), getattr(view, "view_class", None)):
        mark = getattr(bearer, "opens_to", None)
        if isinstance(mark, Mark):
            return mark
    return library_marks.get(view_name)


def allows(mark: Mark, person: Any) -> bool:
    """Whether the mark opens to this person. Anonymous users have only what opens to nobody in particular."""
    if mark.who is Who.NOBODY:
        return True
    if not isinstance(person, Person) or not person.is_active:
        return False
    return {
        Who.MEMBER: True,
        Who.VOLUNTEER: person.is_volunteer,
        Who.COORDINATOR: person.is_coordinator,
        Who.RELEASER: person.is_releaser,
    }[mark.who]
