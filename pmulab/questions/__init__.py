"""Ready questions of the trade, and the plan that each of them starts.

A question is one TOML file here: a partial `plan.toml` with three lines about itself. Adding a
file adds a question. What the questions share stands in `_usual.toml`.
"""

from pmulab.questions.drafting import draft
from pmulab.questions.library import Question, names, question, usual_outcome

__all__ = ["Question", "draft", "names", "question", "usual_outcome"]
