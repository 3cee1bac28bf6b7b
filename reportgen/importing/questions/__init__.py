"""Stage 7: what is open, as questions in the order in which they are asked."""

from reportgen.importing.questions.answers import settings_after
from reportgen.importing.questions.asked import questions
from reportgen.importing.questions.situation import Candidate, Part, Situation

__all__ = ["Candidate", "Part", "Situation", "questions", "settings_after"]
