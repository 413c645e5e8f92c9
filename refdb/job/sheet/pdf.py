"""A page as PDF, where the library that renders it is there."""

from __future__ import annotations

from refdb.problems import BadParameter

MISSING = (
    "pdf: the library WeasyPrint is not installed; install refdb with its extra, as in pip install 'refdb[pdf]', or "
    "print the page of --html from a browser."
)
NO_PANGO = (
    "pdf: WeasyPrint is installed but cannot load Pango, a library of the system; install it (libpango-1.0-0 and "
    "libpangoft2-1.0-0 on Debian), or print the page of --html from a browser."
)


def pdf(html: str) -> bytes:
    """A page of `refdb.job.sheet` as a PDF file; whatever the page names, nothing is fetched.

    Raises:
        BadParameter: WeasyPrint or what it needs of the system is not there.
    """
    try:
        import weasyprint  # pyright: ignore[reportMissingImports] - an extra
    except ModuleNotFoundError:
        raise BadParameter(MISSING, parameter="pdf") from None
    except OSError:
        raise BadParameter(NO_PANGO, parameter="pdf") from None
    written = weasyprint.HTML(string=html, url_fetcher=_refuse).write_pdf()
    assert isinstance(written, bytes)  # noqa: S101 - no target was given
    return written


def _refuse(url: str, *_: object, **__: object) -> None:
    raise ValueError(f"nothing is fetched: {url}")
