"""House values: values that an organisation measured or prefers, kept in its own store beside the releases.

import refdb
from refdb.house import House

db = refdb.open(house=House("sqlite:///house.sqlite"))
db.value("carbon-steel", "longitudinal_speed", layers="house,release")
"""

from refdb.house.register import House, version_document

__all__ = ["House", "version_document"]
