"""Documents kept as bytes: certificates, photographs. Nothing that matters lives in a local file."""

from django.db import models


class Document(models.Model):
    """A file of at most 1 MB with the media type found in its content."""

    name = models.CharField(max_length=120)
    media_type = models.CharField(max_length=60)
    content = models.BinaryField()
    sha256 = models.CharField(max_length=64, db_index=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.name
