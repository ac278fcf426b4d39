"""The proof of the books: every room recomputes what it derives and names each difference."""

from collections.abc import Iterator

from django.utils.translation import ngettext

from coop import registry


def differences() -> Iterator[str]:
    """One sentence for each difference, the room's name in front. Empty means that the books prove."""
    for name, function in registry.proofs.items():
        for sentence in function():
            yield f"{name}: {sentence}"


def summary() -> str:
    """What the nightly proof leaves for the coordinator to read; empty when the books prove."""
    found = list(differences())
    if not found:
        return ""
    words = ngettext("one difference: %(first)s", "%(count)d differences; the first: %(first)s", len(found))
    return words % {"count": len(found), "first": found[0]}
