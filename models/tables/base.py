"""What every table shares: names for constraints, and a type for instants."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any, ClassVar

from sqlalchemy import JSON, DateTime, Dialect, MetaData, String, Text
from sqlalchemy.orm import DeclarativeBase, mapped_column
from sqlalchemy.types import TypeDecorator, TypeEngine

NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class UtcInstant(TypeDecorator[datetime]):
    """An aware UTC instant. Refuses naive values; gives aware UTC back, on SQLite too."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"instant {value.isoformat()} has no time zone: store aware datetimes only")
        in_utc = value.astimezone(UTC)
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class ByteOrdered(TypeDecorator[str]):
    """Text ordered by its bytes on both databases, whatever language the server speaks."""

    impl = String
    cache_ok = True

    def __init__(self, length: int) -> None:
        super().__init__(length)
        self.length = length

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        collation = "C" if dialect.name == "postgresql" else None
        return dialect.type_descriptor(String(self.length, collation))


class Base(DeclarativeBase):
    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        datetime: UtcInstant(),
        dict[str, Any]: JSON(),
        list[Any]: JSON(),
    }


Key = Annotated[str, mapped_column(ByteOrdered(200))]
Word = Annotated[str, mapped_column(ByteOrdered(40))]
Sentence = Annotated[str, mapped_column(Text)]
