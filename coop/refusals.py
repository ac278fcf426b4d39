"""What a request that cannot be granted raises. Apart from the command wrapper, since models and codes refuse too."""

from typing import Any


class Refused(Exception):
    """A request that cannot be granted. Carries a sentence for people, a code and figures for programs."""

    status = 422

    def __init__(self, sentence: str, code: str = "refused", **facts: Any) -> None:
        super().__init__(sentence)
        self.sentence = str(sentence)
        self.code = code
        self.facts = facts


class Conflict(Refused):
    """The same key was used before for something else."""

    status = 409
