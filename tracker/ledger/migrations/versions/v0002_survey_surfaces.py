"""Surveyed surfaces, reduced, and surveys held against the returns."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "survey_checks",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("survey", sa.Text(), nullable=True),
        sa.Column("excavation", sa.Text(), nullable=True),
        sa.Column("surveyed_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("amber_permille", sa.BigInteger(), nullable=True),
        sa.Column("red_permille", sa.BigInteger(), nullable=True),
        sa.Column("lines", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_survey_checks_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (survey IS NOT NULL AND excavation IS NOT NULL AND surveyed_at IS NOT NULL AND work_date IS NOT NULL AND amber_permille IS NOT NULL AND red_permille IS NOT NULL AND lines IS NOT NULL)",
            name=op.f("ck_survey_checks_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_survey_checks_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_survey_checks_reasoned")
        ),
        sa.CheckConstraint(
            "amber_permille > 0 AND red_permille >= amber_permille",
            name=op.f("ck_survey_checks_limits"),
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["survey_checks.entry_id"], name=op.f("fk_survey_checks_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_survey_checks")),
    )
    op.create_index(
        "ix_survey_checks_fact", "survey_checks", ["excavation", "survey"], unique=False
    )
    op.create_index(
        "uq_survey_checks_supersedes",
        "survey_checks",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "survey_surfaces",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("survey", sa.Text(), nullable=True),
        sa.Column("excavation", sa.Text(), nullable=True),
        sa.Column("surveyed_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("sha256", sa.Text(), nullable=True),
        sa.Column("column_order", sa.Text(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("datum_shift_mm", sa.BigInteger(), nullable=True),
        sa.Column("method", sa.Text(), nullable=True),
        sa.Column("points_in", sa.BigInteger(), nullable=True),
        sa.Column("points_used", sa.BigInteger(), nullable=True),
        sa.Column("void_table", sa.Text(), nullable=True),
        sa.Column("report", sa.Text(), nullable=True),
        sa.Column("picture", sa.Text(), nullable=True),
        sa.Column("original_ground", sa.Boolean(), nullable=True),
        sa.Column("filtered", sa.Boolean(), nullable=True),
        sa.Column("thin_mm", sa.BigInteger(), nullable=True),
        sa.Column("laid_over", sa.Text(), nullable=True),
        sa.Column("earlier_table", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_survey_surfaces_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (survey IS NOT NULL AND excavation IS NOT NULL AND surveyed_at IS NOT NULL AND work_date IS NOT NULL AND sha256 IS NOT NULL AND column_order IS NOT NULL AND unit IS NOT NULL AND datum_shift_mm IS NOT NULL AND method IS NOT NULL AND points_in IS NOT NULL AND points_used IS NOT NULL AND void_table IS NOT NULL AND report IS NOT NULL AND picture IS NOT NULL)",
            name=op.f("ck_survey_surfaces_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_survey_surfaces_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_survey_surfaces_reasoned")
        ),
        sa.CheckConstraint(
            "points_used >= 0 AND points_in >= points_used", name=op.f("ck_survey_surfaces_points")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["survey_surfaces.entry_id"], name=op.f("fk_survey_surfaces_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_survey_surfaces")),
    )
    op.create_index(
        "ix_survey_surfaces_fact", "survey_surfaces", ["excavation", "survey"], unique=False
    )
    op.create_index("ix_survey_surfaces_work_date", "survey_surfaces", ["work_date"], unique=False)
    op.create_index(
        "uq_survey_surfaces_supersedes",
        "survey_surfaces",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )


def downgrade() -> None:
    op.drop_table("survey_surfaces")
    op.drop_table("survey_checks")
