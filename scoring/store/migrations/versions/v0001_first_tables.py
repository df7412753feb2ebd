"""First tables: runs, photos, measurements, metrics and modes."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the tables."""
    op.create_table(
        "runs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("name", sa.String(64), nullable=False),
        sa.Column("machine", sa.String(), nullable=False),
        sa.Column("setup", sa.String(), nullable=False),
        sa.Column("axis", sa.String(1), nullable=False),
        sa.Column("outer_wall_speed_mm_s", sa.Double(), nullable=False),
        sa.Column("accel_mm_s2", sa.Double(), nullable=False),
        sa.Column("corner_speed_mm_s", sa.Double(), nullable=False),
        sa.Column("layer_height_mm", sa.Double(), nullable=True),
        sa.Column("line_width_mm", sa.Double(), nullable=True),
        sa.Column("nozzle_mm", sa.Double(), nullable=True),
        sa.Column("nozzle_temp_c", sa.Double(), nullable=True),
        sa.Column("bed_temp_c", sa.Double(), nullable=True),
        sa.Column("flow_ratio", sa.Double(), nullable=True),
        sa.Column("pressure_advance_s", sa.Double(), nullable=True),
        sa.Column("shaper_type", sa.String(), nullable=True),
        sa.Column("shaper_hz", sa.Double(), nullable=True),
        sa.Column("extruder_ratio", sa.Double(), nullable=True),
        sa.Column("drive_gear_mm", sa.Double(), nullable=True),
        sa.Column("filament", sa.String(), nullable=True),
        sa.Column("printed_on", sa.Date(), nullable=True),
        sa.Column("notes", sa.String(), nullable=True),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_runs"),
        sa.UniqueConstraint("name", name="uq_runs_name"),
    )
    op.create_table(
        "photos",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name="fk_photos_run_id"),
        sa.PrimaryKeyConstraint("id", name="pk_photos"),
        sa.UniqueConstraint("sha256", name="uq_photos_sha256"),
    )
    op.create_index("ix_photos_run_id", "photos", ["run_id"])
    op.create_table(
        "measurements",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("photo_id", sa.Integer(), nullable=False),
        sa.Column("measured_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("method_version", sa.String(), nullable=False),
        sa.Column("geometry_revision", sa.String(), nullable=False),
        sa.Column("speed_mm_s", sa.Double(), nullable=False),
        sa.Column("accel_mm_s2", sa.Double(), nullable=False),
        sa.Column("corner_speed_mm_s", sa.Double(), nullable=False),
        sa.Column("layer_height_mm", sa.Double(), nullable=True),
        sa.Column("face", sa.String(16), nullable=False),
        sa.Column("label_run", sa.String(), nullable=True),
        sa.Column("label_axis", sa.String(), nullable=True),
        sa.Column("markers", sa.Integer(), nullable=False),
        sa.Column("residual_mm", sa.Double(), nullable=False),
        sa.Column("mm_per_px", sa.Double(), nullable=False),
        sa.Column("flags", sa.JSON(), nullable=False),
        sa.Column("trace", sa.JSON(), nullable=False),
        sa.Column("face_jpeg", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["photo_id"], ["photos.id"], name="fk_measurements_photo_id"),
        sa.PrimaryKeyConstraint("id", name="pk_measurements"),
        sa.UniqueConstraint("photo_id", name="uq_measurements_photo_id"),
    )
    for table, keys in (("metrics", ["name"]), ("modes", ["mode", "name"])):
        op.create_table(
            table,
            sa.Column("measurement_id", sa.Integer(), nullable=False),
            *([sa.Column("mode", sa.Integer(), nullable=False)] if "mode" in keys else []),
            sa.Column("name", sa.String(32), nullable=False),
            sa.Column("value", sa.Double(), nullable=False),
            sa.Column("low", sa.Double(), nullable=False),
            sa.Column("high", sa.Double(), nullable=False),
            sa.ForeignKeyConstraint(
                ["measurement_id"], ["measurements.id"], name=f"fk_{table}_measurement_id"
            ),
            sa.PrimaryKeyConstraint("measurement_id", *keys, name=f"pk_{table}"),
        )
