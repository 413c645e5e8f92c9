"""How a question is declared: once, as a dataclass whose fields say what each is, for every surface that asks it.

The command line, the HTTP parameters with their description, the members of a body and the documentation of the Python
methods are all read from the declaration. Each question stands in the room that answers it, in its `question.py`.
"""

from refdb.questions.declare import Asked, Question, asked, checked, fields_of, group, question

__all__ = ["Asked", "Question", "asked", "checked", "fields_of", "group", "question"]
