"""SQLAlchemy tables, one file a subject. Importing this package knows them all."""

from models.tables import feeds, people, post, readings, season, service, stock, watering, weather, work
from models.tables.base import Base

metadata = Base.metadata

__all__ = [
    "feeds",
    "metadata",
    "people",
    "post",
    "readings",
    "season",
    "service",
    "stock",
    "watering",
    "weather",
    "work",
]
