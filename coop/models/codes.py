"""Codes that stand on labels, printed before or with the thing they name."""

from django.db import models


class Code(models.Model):
    """One code of the club: eight characters, the last a check character. Unused until an item takes it."""

    text = models.CharField(max_length=8, primary_key=True)
    printed_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"{self.text[:4]} {self.text[4:]}"
