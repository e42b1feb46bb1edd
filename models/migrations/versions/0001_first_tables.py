"""first tables"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

import models.tables.base

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "business",
        sa.Column("key", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("email", sa.Text(), nullable=False),
        sa.Column("phone", sa.Text(), nullable=False),
        sa.Column("latitude", sa.Double(), nullable=False),
        sa.Column("longitude", sa.Double(), nullable=False),
        sa.Column("time_zone", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("rules", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_business")),
    )
    op.create_table(
        "clients",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("email", sa.Text(), nullable=True),
        sa.Column("phone", sa.Text(), nullable=True),
        sa.Column("time_zone", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("state", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("token_version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_clients")),
    )
    op.create_table(
        "ledgers",
        sa.Column("name", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_ledgers")),
    )
    op.create_table(
        "marks",
        sa.Column("name", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("instant", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("jobs_done", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_marks")),
    )
    op.create_table(
        "messages",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("kind", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("recipient", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.Column("payload_version", sa.Integer(), nullable=False),
        sa.Column("caused_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("not_before", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("state", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("due_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("claimed_by", models.tables.base.ByteOrdered(length=40), nullable=True),
        sa.Column("claimed_at", models.tables.base.UtcInstant(timezone=True), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.Column("settled_at", models.tables.base.UtcInstant(timezone=True), nullable=True),
        sa.Column("trouble", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_messages")),
    )
    with op.batch_alter_table("messages", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_messages_recipient"), ["recipient"], unique=False)
        batch_op.create_index("ix_messages_state_due_at", ["state", "due_at"], unique=False)

    op.create_table(
        "pack_orders",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("species", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("packs", sa.Integer(), nullable=False),
        sa.Column("order_by", sa.Date(), nullable=False),
        sa.Column("needed_by", sa.Date(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("placed_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("delivered", sa.Boolean(), nullable=False),
        sa.CheckConstraint("packs > 0", name=op.f("ck_pack_orders_packs")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_pack_orders")),
    )
    op.create_table(
        "sites",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("latitude", sa.Double(), nullable=False),
        sa.Column("longitude", sa.Double(), nullable=False),
        sa.Column("elevation_m", sa.Double(), nullable=False),
        sa.Column("source", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("source_ref", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_sites")),
    )
    op.create_table(
        "attempts",
        sa.Column("message_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("ordinal", sa.Integer(), nullable=False),
        sa.Column("worker", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("started_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("outcome", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["message_key"], ["messages.key"], name=op.f("fk_attempts_message_key_messages")
        ),
        sa.PrimaryKeyConstraint("message_key", "ordinal", name=op.f("pk_attempts")),
    )
    op.create_table(
        "batches",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("order_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("species", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("packs", sa.Integer(), nullable=False),
        sa.Column("packs_left", sa.Integer(), nullable=False),
        sa.Column("delivered_on", sa.Date(), nullable=False),
        sa.Column("best_before", sa.Date(), nullable=False),
        sa.CheckConstraint("packs_left BETWEEN 0 AND packs", name=op.f("ck_batches_packs_left")),
        sa.ForeignKeyConstraint(
            ["order_key"], ["pack_orders.key"], name=op.f("fk_batches_order_key_pack_orders")
        ),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_batches")),
    )
    op.create_table(
        "feeds",
        sa.Column("client_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("etag", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("changed_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_key"], ["clients.key"], name=op.f("fk_feeds_client_key_clients")),
        sa.PrimaryKeyConstraint("client_key", name=op.f("pk_feeds")),
    )
    op.create_table(
        "lawns",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("client_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("site_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("latitude", sa.Double(), nullable=False),
        sa.Column("longitude", sa.Double(), nullable=False),
        sa.Column("texture", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("tap_litres_per_minute", sa.Double(), nullable=True),
        sa.Column("traits", sa.Text(), nullable=False),
        sa.CheckConstraint("latitude BETWEEN -90 AND 90", name=op.f("ck_lawns_latitude")),
        sa.CheckConstraint("longitude BETWEEN -180 AND 180", name=op.f("ck_lawns_longitude")),
        sa.ForeignKeyConstraint(["client_key"], ["clients.key"], name=op.f("fk_lawns_client_key_clients")),
        sa.ForeignKeyConstraint(["site_key"], ["sites.key"], name=op.f("fk_lawns_site_key_sites")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_lawns")),
    )
    with op.batch_alter_table("lawns", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lawns_client_key"), ["client_key"], unique=False)

    op.create_table(
        "outlooks",
        sa.Column("site_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("texture", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("pest", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("season_key", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("chances", sa.JSON(), nullable=False),
        sa.Column("years", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site_key"], ["sites.key"], name=op.f("fk_outlooks_site_key_sites")),
        sa.PrimaryKeyConstraint("site_key", "texture", "pest", "season_key", name=op.f("pk_outlooks")),
    )
    op.create_table(
        "soil_days",
        sa.Column("site_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("mean_10cm_c", sa.Double(), nullable=False),
        sa.Column("sd_c", sa.Double(), nullable=False),
        sa.Column("reference_et_mm", sa.Double(), nullable=False),
        sa.Column("rain_mm", sa.Double(), nullable=False),
        sa.Column("temperature_min_c", sa.Double(), nullable=False),
        sa.Column("provenance", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("weather_revision", sa.Integer(), nullable=False),
        sa.Column("gap_days", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["site_key"], ["sites.key"], name=op.f("fk_soil_days_site_key_sites")),
        sa.PrimaryKeyConstraint("site_key", "day", name=op.f("pk_soil_days")),
    )
    op.create_table(
        "soil_states",
        sa.Column("site_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        sa.Column("seen_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("state", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["site_key"], ["sites.key"], name=op.f("fk_soil_states_site_key_sites")),
        sa.PrimaryKeyConstraint("site_key", name=op.f("pk_soil_states")),
    )
    op.create_table(
        "weather_days",
        sa.Column("site_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("provenance", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("temperature_min_c", sa.Double(), nullable=True),
        sa.Column("temperature_max_c", sa.Double(), nullable=True),
        sa.Column("rain_mm", sa.Double(), nullable=True),
        sa.Column("wind_m_s", sa.Double(), nullable=True),
        sa.Column("sun_h", sa.Double(), nullable=True),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("known_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.CheckConstraint("temperature_min_c <= temperature_max_c", name=op.f("ck_weather_days_minimum")),
        sa.ForeignKeyConstraint(["site_key"], ["sites.key"], name=op.f("fk_weather_days_site_key_sites")),
        sa.PrimaryKeyConstraint("site_key", "day", "provenance", "revision", name=op.f("pk_weather_days")),
    )
    op.create_table(
        "programmes",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("pest", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("species", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("years", sa.Integer(), nullable=False),
        sa.Column("state", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_programmes_lawn_key_lawns")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_programmes")),
    )
    with op.batch_alter_table("programmes", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_programmes_lawn_key"), ["lawn_key"], unique=False)

    op.create_table(
        "refusals",
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("recorded_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_refusals_lawn_key_lawns")),
        sa.PrimaryKeyConstraint("lawn_key", "day", name=op.f("pk_refusals")),
    )
    op.create_table(
        "waterings",
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("depth_mm", sa.Double(), nullable=False),
        sa.Column("recorded_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.CheckConstraint("depth_mm > 0", name=op.f("ck_waterings_depth")),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_waterings_lawn_key_lawns")),
        sa.PrimaryKeyConstraint("lawn_key", "day", name=op.f("pk_waterings")),
    )
    op.create_table(
        "windows",
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("pest", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("season_key", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("species", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("turns", sa.JSON(), nullable=False),
        sa.Column("judged_to", sa.Date(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_windows_lawn_key_lawns")),
        sa.PrimaryKeyConstraint("lawn_key", "pest", "season_key", "species", name=op.f("pk_windows")),
    )
    op.create_table(
        "zones",
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("name", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("area_m2", sa.Double(), nullable=False),
        sa.CheckConstraint("area_m2 > 0", name=op.f("ck_zones_area")),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_zones_lawn_key_lawns")),
        sa.PrimaryKeyConstraint("lawn_key", "name", name=op.f("pk_zones")),
    )
    op.create_table(
        "visits",
        sa.Column("key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("programme_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("season_key", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("kind", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("allowed_first", sa.Date(), nullable=False),
        sa.Column("allowed_last", sa.Date(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("packs", sa.Integer(), nullable=False),
        sa.Column("state", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("day", sa.Date(), nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("changed_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.CheckConstraint("state <> 'booked' OR day IS NOT NULL", name=op.f("ck_visits_booked_has_day")),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_visits_lawn_key_lawns")),
        sa.ForeignKeyConstraint(
            ["programme_key"], ["programmes.key"], name=op.f("fk_visits_programme_key_programmes")
        ),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_visits")),
    )
    with op.batch_alter_table("visits", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_visits_lawn_key"), ["lawn_key"], unique=False)
        batch_op.create_index(batch_op.f("ix_visits_programme_key"), ["programme_key"], unique=False)
        batch_op.create_index("ix_visits_state_day", ["state", "day"], unique=False)

    op.create_table(
        "counts",
        sa.Column("visit_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("sample_area_m2", sa.Double(), nullable=False),
        sa.Column("found", sa.JSON(), nullable=False),
        sa.Column("recorded_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_counts_lawn_key_lawns")),
        sa.ForeignKeyConstraint(["visit_key"], ["visits.key"], name=op.f("fk_counts_visit_key_visits")),
        sa.PrimaryKeyConstraint("visit_key", name=op.f("pk_counts")),
    )
    with op.batch_alter_table("counts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_counts_lawn_key"), ["lawn_key"], unique=False)

    op.create_table(
        "treatments",
        sa.Column("visit_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("area_m2", sa.Double(), nullable=False),
        sa.Column("dose_factor", sa.Double(), nullable=False),
        sa.Column("packs", sa.JSON(), nullable=False),
        sa.Column("probe_c", sa.Double(), nullable=True),
        sa.Column("wash_in_mm", sa.Double(), nullable=False),
        sa.Column("recorded_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_treatments_lawn_key_lawns")),
        sa.ForeignKeyConstraint(["visit_key"], ["visits.key"], name=op.f("fk_treatments_visit_key_visits")),
        sa.PrimaryKeyConstraint("visit_key", name=op.f("pk_treatments")),
    )
    with op.batch_alter_table("treatments", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_treatments_day"), ["day"], unique=False)
        batch_op.create_index(batch_op.f("ix_treatments_lawn_key"), ["lawn_key"], unique=False)

    op.create_table(
        "visit_changes",
        sa.Column("visit_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("state", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("day", sa.Date(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("changed_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["visit_key"], ["visits.key"], name=op.f("fk_visit_changes_visit_key_visits")
        ),
        sa.PrimaryKeyConstraint("visit_key", "revision", name=op.f("pk_visit_changes")),
    )
    op.create_table(
        "watering_days",
        sa.Column("visit_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("rain_mm", sa.Double(), nullable=False),
        sa.Column("turf_et_mm", sa.Double(), nullable=False),
        sa.Column("watered_mm", sa.Double(), nullable=False),
        sa.Column("deficit_mm", sa.Double(), nullable=False),
        sa.Column("capacity_mm", sa.Double(), nullable=False),
        sa.Column("advice_mm", sa.Double(), nullable=False),
        sa.Column("advice_litres", sa.Double(), nullable=False),
        sa.Column("advice_minutes", sa.Double(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("weather_revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_watering_days_lawn_key_lawns")),
        sa.ForeignKeyConstraint(
            ["visit_key"], ["treatments.visit_key"], name=op.f("fk_watering_days_visit_key_treatments")
        ),
        sa.PrimaryKeyConstraint("visit_key", "day", name=op.f("pk_watering_days")),
    )
    with op.batch_alter_table("watering_days", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_watering_days_lawn_key"), ["lawn_key"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("watering_days", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_watering_days_lawn_key"))

    op.drop_table("watering_days")
    op.drop_table("visit_changes")
    with op.batch_alter_table("treatments", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_treatments_lawn_key"))
        batch_op.drop_index(batch_op.f("ix_treatments_day"))

    op.drop_table("treatments")
    with op.batch_alter_table("counts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_counts_lawn_key"))

    op.drop_table("counts")
    with op.batch_alter_table("visits", schema=None) as batch_op:
        batch_op.drop_index("ix_visits_state_day")
        batch_op.drop_index(batch_op.f("ix_visits_programme_key"))
        batch_op.drop_index(batch_op.f("ix_visits_lawn_key"))

    op.drop_table("visits")
    op.drop_table("zones")
    op.drop_table("windows")
    op.drop_table("waterings")
    op.drop_table("refusals")
    with op.batch_alter_table("programmes", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_programmes_lawn_key"))

    op.drop_table("programmes")
    op.drop_table("weather_days")
    op.drop_table("soil_states")
    op.drop_table("soil_days")
    op.drop_table("outlooks")
    with op.batch_alter_table("lawns", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lawns_client_key"))

    op.drop_table("lawns")
    op.drop_table("feeds")
    op.drop_table("batches")
    op.drop_table("attempts")
    op.drop_table("sites")
    op.drop_table("pack_orders")
    with op.batch_alter_table("messages", schema=None) as batch_op:
        batch_op.drop_index("ix_messages_state_due_at")
        batch_op.drop_index(batch_op.f("ix_messages_recipient"))

    op.drop_table("messages")
    op.drop_table("marks")
    op.drop_table("ledgers")
    op.drop_table("clients")
    op.drop_table("business")
