"""Models of the ground, by subject."""

from coop.models.club import Club, HiveKind, LegalBasis, the_club
from coop.models.codes import Code
from coop.models.deeds import Deed
from coop.models.documents import Document
from coop.models.notices import Letter, Notice, Pulse
from coop.models.people import ApiToken, FreshCode, Invitation, Person, Role, ShedPhone

__all__ = [
    "ApiToken",
    "Club",
    "Code",
    "Deed",
    "Document",
    "FreshCode",
    "HiveKind",
    "Invitation",
    "LegalBasis",
    "Letter",
    "Notice",
    "Person",
    "Pulse",
    "Role",
    "ShedPhone",
    "the_club",
]
