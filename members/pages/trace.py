"""Trace: a search box, and for any code its thread, what it came from, what became of it, and who has it."""

import dataclasses
from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_safe

from coop import codes, wording
from coop.access import VOLUNTEER, opens_to
from coop.models import Person
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import holds, threads
from inventory.models import Hold, Item
from inventory.science.shares import WHOLE
from members.trace.find import find
from members.trace.holders import Holder, holders_of, pieces_of
from members.trace.picture import codes_of, pieces_picture, reach_picture
from members.trace.reach import Reach, Reached, reach_of
from members.trace.upstream import Ancestor, upstream_of

PPB = WHOLE // 10**9
NEWEST = 5


def _trace_url(row: Reached | Ancestor) -> str:
    return reverse("trace:item", args=[row.item.code_id])


def _share(share: int | None) -> int | None:
    return None if share is None else round(share / PPB)


REACH = Table(
    "reach",
    columns=(
        Column("code", gettext_lazy("Code"), "item.code_id", "code", sort="code", link=_trace_url),
        Column("what", gettext_lazy("What"), "words", sort="what"),
        Column("where", gettext_lazy("Where it rests"), lambda row: _rests(row)),
        Column("of_it", gettext_lazy("Of it"), "of_it_mg", "mass", sort="of_it", places=3, strong=True),
        Column("each", gettext_lazy("A strip"), "each_mg", "mass", sort="each", places=3),
        Column(
            "share", gettext_lazy("Share by mass"), lambda row: _share(row.share), "percent", sort="share", places=3
        ),
        Column("acid", gettext_lazy("Of its acid"), lambda row: _share(row.of_acid), "percent", sort="acid", places=3),
        Column("strips", gettext_lazy("Strips made"), "strips", "pieces", sort="strips"),
        Column("made", gettext_lazy("Made"), "item.made_at", "date", sort="made"),
        Column("state", gettext_lazy("State"), lambda row: ("hold", _("on hold")) if row.is_held else None, "state"),
    ),
    per_page=200,
    caption=gettext_lazy("Everything made from it"),
    nothing=gettext_lazy("Nothing has been made from it."),
)
UPSTREAM = Table(
    "came-from",
    columns=(
        Column("code", gettext_lazy("Code"), "item.code_id", "code", sort="code", link=_trace_url),
        Column("what", gettext_lazy("What"), "words", sort="what"),
        Column("made", gettext_lazy("Since"), "item.made_at", "moment", sort="made"),
        Column(
            "share", gettext_lazy("Share by mass"), lambda row: _share(row.share), "percent", sort="share", places=3
        ),
        Column("direct", gettext_lazy("Went straight in"), lambda row: _straight(row)),
        Column("state", gettext_lazy("State"), lambda row: ("hold", _("on hold")) if row.is_held else None, "state"),
    ),
    per_page=200,
    caption=gettext_lazy("Everything it was made from"),
    nothing=gettext_lazy("The book knows nothing before it."),
)


def _rests(row: Reached) -> str:
    return "; ".join(f"{part.where} {wording.mass_g(part.mass_mg, 0)}" for part in row.parts)


def _straight(row: Ancestor) -> str:
    told = [wording.mass_g(row.mass_mg) if row.mass_mg else "", wording.counted(row.pieces) if row.pieces else ""]
    return ", ".join(one for one in told if one)


@dataclasses.dataclass(frozen=True)
class HolderRow:
    """A holder as the table shows them; without a name to whoever may not know it."""

    name: str
    url: str
    holder: Holder
    each: str
    came: str


def _holder_url(row: HolderRow) -> str:
    return row.url


HOLDERS = Table(
    "who-holds-what",
    columns=(
        Column("member", gettext_lazy("Member"), "name", sort="member", link=_holder_url),
        Column("bags", gettext_lazy("Bag"), lambda row: codes_of(list(row.holder.items.values()))),
        Column("strips", gettext_lazy("Strips"), "holder.strips", "pieces", sort="strips", strong=True),
        Column("each", gettext_lazy("Of it, a strip"), "each"),
        Column("where", gettext_lazy("Where they are"), "holder.where"),
        Column("from", gettext_lazy("Came from"), "came"),
    ),
    per_page=200,
    caption=gettext_lazy("Everyone it ever reached"),
    nothing=gettext_lazy("It has reached no member."),
)


@opens_to(VOLUNTEER)
@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """The search box; a code that is known leads straight to its page."""
    text = request.GET.get("code", "").replace("\x00", "")[:200]
    found = find(text) if "code" in request.GET else None
    if found and found.item:
        return redirect("trace:item", code=found.item.code_id)
    active = Hold.objects.active().select_related("placed_by__actor")
    known = {
        "text": text[:40],
        "found": found,
        "holds": active[:NEWEST],
        "count": active.count(),
        "place": "trace",
    }
    return render(request, "members/trace.html", known, status=404 if found else 200)


@opens_to(VOLUNTEER)
@require_safe
def item_page(request: HttpRequest, code: str) -> HttpResponse:
    """One thing: its thread, how far it reaches, who holds what, and whether every strip is accounted for."""
    item = item_of(code)
    reach = reach_of(item)
    things = [item, *(row.item for row in reach.rows)]
    holders = holders_of(things)
    table = HOLDERS.from_request(request, holder_rows(request, holders, reach))
    file = table.file()
    if file is not None:
        return file
    reached = holds.holds_of(item)
    pieces = pieces_of(things)
    words = threads.words_of([item])[item.pk]
    known = {
        "item": item,
        "title": f"{item.spaced_code}, {words}",
        "crumbs": [*crumbs(), Crumb(str(item.get_kind_display()))],
        "holds": reached,
        "own": next((hold for hold in reached if hold.items.filter(pk=item.pk).exists()), None),
        "stops": threads.thread_of(item),
        "picture": reach_picture(item, reach),
        "pieces": pieces_picture(pieces) if pieces.made else None,
        "reach": reach,
        "drawn": _drawn(item, reach),
        "table": table,
        "told": _told(holders),
        "now": timezone.now(),
        "url": threads.url_of(item),
        "place": "trace",
    }
    return render(request, "members/trace_item.html", known)


def _drawn(item: Item, reach: Reach) -> str:
    """How much of it went into other things."""
    if reach.drawn_mg is not None:
        return _("%(amount)s of it went into what stands below.") % {"amount": wording.mass_g(reach.drawn_mg)}
    return ""


def _told(holders: list[Holder]) -> str:
    count = len(holders)
    if not count:
        return _("It has reached no member.")
    text = ngettext("%(count)s member to tell.", "%(count)s members to tell.", count)
    return text % {"count": count}


def holder_rows(request: HttpRequest, holders: list[Holder], reach: Reach) -> list[HolderRow]:
    """Rows for the table; names for coordinators only, since a list of who has what is about people."""
    each = {row.item.pk: row.each_mg for row in reach.rows}
    names = isinstance(request.user, Person) and request.user.is_coordinator
    rows = []
    for number, holder in enumerate(holders, start=1):
        grams = sorted({mass for mass in map(each.get, holder.items) if mass}, reverse=True)
        rows.append(
            HolderRow(
                name=holder.person.name if names else _("member %(number)s") % {"number": number},
                url=reverse("person", args=[holder.person.pk]) if names else "",
                holder=holder,
                each=", ".join(wording.mass_g(mass, 2) for mass in grams),
                came=wording.listed(giver.name for giver in holder.came_from.values())
                if names
                else _("another member")
                if holder.came_from
                else "",
            )
        )
    return rows


@opens_to(VOLUNTEER)
@require_safe
def reach_page(request: HttpRequest, code: str) -> HttpResponse:
    """Everything downstream as a table to sort, search and export."""
    item = item_of(code)
    reach = reach_of(item)
    lead = _("Shares by mass take every solution as well mixed.") if reach.drawn_mg is not None else ""
    return _list(request, item, REACH, reach.rows, _("Made from %(code)s"), f"{_drawn(item, reach)} {lead}".strip())


@opens_to(VOLUNTEER)
@require_safe
def upstream_page(request: HttpRequest, code: str) -> HttpResponse:
    """Everything upstream as a table to sort, search and export."""
    item = item_of(code)
    lead = _("Shares by mass take every solution as well mixed.")
    return _list(request, item, UPSTREAM, upstream_of(item), _("What %(code)s was made from"), lead)


def _list(
    request: HttpRequest, item: Item, table: Table, rows: Sequence[object], title: str, lead: str
) -> HttpResponse:
    shown = table.from_request(request, rows)
    known = {
        "table": shown,
        "title": title % {"code": item.spaced_code},
        "lead": lead,
        "crumbs": crumbs(item),
        "place": "trace",
    }
    return shown.file() or render(request, "members/trace_list.html", known)


def crumbs(item: Item | None = None) -> list[Crumb]:
    way = [Crumb(_("Trace"), reverse("trace"))]
    return [*way, Crumb(item.spaced_code, reverse("trace:item", args=[item.code_id]))] if item else way


def item_of(code: str) -> Item:
    rows = Item.objects.select_related("material", "lot__supplier")
    return get_object_or_404(rows, code=codes.tidy(code))
