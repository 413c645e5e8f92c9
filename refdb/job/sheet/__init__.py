"""The sheet of a job: one printable page that holds all it needs, and the blank one that is filled in on site.

`page` makes HTML of a job's document, `blank_page` the empty form, `pdf` a PDF of either. Nothing here computes: every
figure comes from the document.
"""

from refdb.job.sheet.blank import blank_page
from refdb.job.sheet.page import page
from refdb.job.sheet.pdf import pdf

__all__ = ["blank_page", "page", "pdf"]
