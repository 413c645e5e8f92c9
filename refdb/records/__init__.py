"""Record format v1: what a release consists of.

A record is one JSON object whose numbers are printed text. Its digest is the SHA-256 of its canonical JSON (RFC 8785),
and the digest of a release is that of its sorted list of ids and digests. Neither changes when the format gains
optional fields. Only the models need pydantic; digests and printed numbers do not.
"""

from refdb.records.canonical import FORMAT, body_digest, canonical, digest, release_digest
from refdb.records.printed import PRINTED_NUMBER, number_text, printed_number, rounding_half_width

__all__ = [
    "FORMAT",
    "PRINTED_NUMBER",
    "body_digest",
    "canonical",
    "digest",
    "number_text",
    "printed_number",
    "release_digest",
    "rounding_half_width",
]
