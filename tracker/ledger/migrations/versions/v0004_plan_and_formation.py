"""Frozen plans, steps of formation, and the condition on which a hold was released."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "formation_steps",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("done_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("zone", sa.Text(), nullable=True),
        sa.Column("step", sa.Text(), nullable=True),
        sa.Column("area_dm2", sa.BigInteger(), nullable=True),
        sa.Column("checked_by", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_formation_steps_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (done_at IS NOT NULL AND work_date IS NOT NULL AND zone IS NOT NULL AND step IS NOT NULL AND area_dm2 IS NOT NULL AND checked_by IS NOT NULL)",
            name=op.f("ck_formation_steps_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_formation_steps_action")
        ),
        sa.CheckConstraint(
            "step IN ('reached', 'inspected', 'blinded')", name=op.f("ck_formation_steps_step")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_formation_steps_reasoned")
        ),
        sa.CheckConstraint("area_dm2 > 0", name=op.f("ck_formation_steps_area")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["formation_steps.entry_id"], name=op.f("fk_formation_steps_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_formation_steps")),
    )
    op.create_index(
        "ix_formation_steps_fact", "formation_steps", ["zone", "step", "done_at"], unique=False
    )
    op.create_index(
        "uq_formation_steps_supersedes",
        "formation_steps",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "planned_stages",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("plan", sa.Text(), nullable=True),
        sa.Column("frozen_on", sa.String(10), nullable=True),
        sa.Column("zone", sa.Text(), nullable=True),
        sa.Column("stage", sa.BigInteger(), nullable=True),
        sa.Column("planned_start", sa.String(10), nullable=True),
        sa.Column("planned_finish", sa.String(10), nullable=True),
        sa.Column("hold_days", sa.BigInteger(), nullable=True),
        sa.Column("design_l", sa.BigInteger(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_planned_stages_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (plan IS NOT NULL AND frozen_on IS NOT NULL AND zone IS NOT NULL AND stage IS NOT NULL AND planned_start IS NOT NULL AND planned_finish IS NOT NULL AND hold_days IS NOT NULL AND design_l IS NOT NULL AND reference IS NOT NULL)",
            name=op.f("ck_planned_stages_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_planned_stages_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_planned_stages_reasoned")
        ),
        sa.CheckConstraint(
            "hold_days >= 0 AND design_l > 0", name=op.f("ck_planned_stages_amounts")
        ),
        sa.CheckConstraint("planned_start <= planned_finish", name=op.f("ck_planned_stages_dates")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["planned_stages.entry_id"], name=op.f("fk_planned_stages_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_planned_stages")),
    )
    op.create_index(
        "ix_planned_stages_fact", "planned_stages", ["plan", "zone", "stage"], unique=False
    )
    op.create_index(
        "uq_planned_stages_supersedes",
        "planned_stages",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.add_column("hold_releases", sa.Column("condition", sa.Text(), nullable=True))


def downgrade() -> None:
    for table in ("formation_steps", "planned_stages"):
        op.drop_table(table)
    op.drop_column("hold_releases", "condition")
