"""What leaves the site: notes, declarations, re-use, belt checks, the rest of the gate's traffic."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "belt_checks",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("checked_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("belt", sa.Text(), nullable=True),
        sa.Column("method", sa.Text(), nullable=True),
        sa.Column("shown_kg", sa.BigInteger(), nullable=True),
        sa.Column("reference_kg", sa.BigInteger(), nullable=True),
        sa.Column("running_min", sa.BigInteger(), nullable=True),
        sa.Column("allowed_kg", sa.BigInteger(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_belt_checks_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (checked_at IS NOT NULL AND work_date IS NOT NULL AND belt IS NOT NULL AND method IS NOT NULL AND shown_kg IS NOT NULL)",
            name=op.f("ck_belt_checks_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_belt_checks_action")
        ),
        sa.CheckConstraint("method IN ('zero', 'material')", name=op.f("ck_belt_checks_method")),
        sa.CheckConstraint(
            "reference_kg >= 0 AND (method <> 'zero' OR reference_kg = 0)",
            name=op.f("ck_belt_checks_reference"),
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_belt_checks_reasoned")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["belt_checks.entry_id"], name=op.f("fk_belt_checks_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_belt_checks")),
    )
    op.create_index("ix_belt_checks_fact", "belt_checks", ["belt", "checked_at"], unique=False)
    op.create_index(
        "uq_belt_checks_supersedes",
        "belt_checks",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "gate_bookings",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("booking", sa.Text(), nullable=True),
        sa.Column("gate_date", sa.String(10), nullable=True),
        sa.Column("from_hour", sa.BigInteger(), nullable=True),
        sa.Column("to_hour", sa.BigInteger(), nullable=True),
        sa.Column("purpose", sa.Text(), nullable=True),
        sa.Column("movements_in", sa.BigInteger(), nullable=True),
        sa.Column("movements_out", sa.BigInteger(), nullable=True),
        sa.Column("booked_by", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_gate_bookings_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (booking IS NOT NULL AND gate_date IS NOT NULL AND from_hour IS NOT NULL AND to_hour IS NOT NULL AND purpose IS NOT NULL AND movements_in IS NOT NULL AND movements_out IS NOT NULL AND booked_by IS NOT NULL)",
            name=op.f("ck_gate_bookings_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_gate_bookings_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_gate_bookings_reasoned")
        ),
        sa.CheckConstraint(
            "from_hour >= 0 AND from_hour < to_hour AND to_hour <= 24",
            name=op.f("ck_gate_bookings_hours"),
        ),
        sa.CheckConstraint(
            "movements_in >= 0 AND movements_out >= 0", name=op.f("ck_gate_bookings_movements")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["gate_bookings.entry_id"], name=op.f("fk_gate_bookings_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_gate_bookings")),
    )
    op.create_index("ix_gate_bookings_fact", "gate_bookings", ["booking"], unique=False)
    op.create_index("ix_gate_bookings_gate_date", "gate_bookings", ["gate_date"], unique=False)
    op.create_index(
        "uq_gate_bookings_supersedes",
        "gate_bookings",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "gate_traffic",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("passed_at", sa.String(32), nullable=True),
        sa.Column("gate_date", sa.String(10), nullable=True),
        sa.Column("hour", sa.BigInteger(), nullable=True),
        sa.Column("purpose", sa.Text(), nullable=True),
        sa.Column("vehicles", sa.BigInteger(), nullable=True),
        sa.Column("direction", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_gate_traffic_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (passed_at IS NOT NULL AND gate_date IS NOT NULL AND hour IS NOT NULL AND purpose IS NOT NULL AND vehicles IS NOT NULL AND direction IS NOT NULL)",
            name=op.f("ck_gate_traffic_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_gate_traffic_action")
        ),
        sa.CheckConstraint(
            "direction IN ('in', 'out', 'both')", name=op.f("ck_gate_traffic_direction")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_gate_traffic_reasoned")
        ),
        sa.CheckConstraint(
            "hour BETWEEN 0 AND 23 AND vehicles > 0", name=op.f("ck_gate_traffic_hour")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["gate_traffic.entry_id"], name=op.f("fk_gate_traffic_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_gate_traffic")),
    )
    op.create_index(
        "ix_gate_traffic_fact",
        "gate_traffic",
        ["purpose", "passed_at", "direction", "reference"],
        unique=False,
    )
    op.create_index("ix_gate_traffic_gate_date", "gate_traffic", ["gate_date"], unique=False)
    op.create_index(
        "uq_gate_traffic_supersedes",
        "gate_traffic",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "reuse_declarations",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("declaration", sa.Text(), nullable=True),
        sa.Column("received_on", sa.String(10), nullable=True),
        sa.Column("stream", sa.Text(), nullable=True),
        sa.Column("destination", sa.Text(), nullable=True),
        sa.Column("declared_l", sa.BigInteger(), nullable=True),
        sa.Column("declared_kg", sa.BigInteger(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_reuse_declarations_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (declaration IS NOT NULL AND received_on IS NOT NULL AND stream IS NOT NULL AND destination IS NOT NULL)",
            name=op.f("ck_reuse_declarations_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')",
            name=op.f("ck_reuse_declarations_action"),
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_reuse_declarations_reasoned")
        ),
        sa.CheckConstraint(
            "declared_l > 0 OR declared_kg > 0", name=op.f("ck_reuse_declarations_declared")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"],
            ["reuse_declarations.entry_id"],
            name=op.f("fk_reuse_declarations_supersedes"),
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_reuse_declarations")),
    )
    op.create_index(
        "ix_reuse_declarations_fact", "reuse_declarations", ["declaration"], unique=False
    )
    op.create_index(
        "uq_reuse_declarations_supersedes",
        "reuse_declarations",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "site_reuse",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("placed_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("stream", sa.Text(), nullable=True),
        sa.Column("location", sa.Text(), nullable=True),
        sa.Column("basis", sa.Text(), nullable=True),
        sa.Column("bank_l", sa.BigInteger(), nullable=True),
        sa.Column("compacted_l", sa.BigInteger(), nullable=True),
        sa.Column("mass_kg", sa.BigInteger(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_site_reuse_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (placed_at IS NOT NULL AND work_date IS NOT NULL AND stream IS NOT NULL AND location IS NOT NULL AND basis IS NOT NULL)",
            name=op.f("ck_site_reuse_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_site_reuse_action")
        ),
        sa.CheckConstraint(
            "basis IN ('bank', 'compacted', 'weighed')", name=op.f("ck_site_reuse_basis")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_site_reuse_reasoned")
        ),
        sa.CheckConstraint(
            "bank_l >= 0 AND compacted_l >= 0 AND mass_kg >= 0",
            name=op.f("ck_site_reuse_not_negative"),
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["site_reuse.entry_id"], name=op.f("fk_site_reuse_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_site_reuse")),
    )
    op.create_index(
        "ix_site_reuse_fact", "site_reuse", ["location", "stream", "placed_at"], unique=False
    )
    op.create_index(
        "uq_site_reuse_supersedes",
        "site_reuse",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "transfer_notes",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("note_number", sa.Text(), nullable=True),
        sa.Column("form", sa.Text(), nullable=True),
        sa.Column("made_out_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("valid_from", sa.String(10), nullable=True),
        sa.Column("valid_to", sa.String(10), nullable=True),
        sa.Column("stream", sa.Text(), nullable=True),
        sa.Column("waste_code", sa.Text(), nullable=True),
        sa.Column("description", sa.Text(), nullable=True),
        sa.Column("carrier", sa.Text(), nullable=True),
        sa.Column("destination", sa.Text(), nullable=True),
        sa.Column("container", sa.Text(), nullable=True),
        sa.Column("place", sa.Text(), nullable=True),
        sa.Column("transferor", sa.Text(), nullable=True),
        sa.Column("transferor_status", sa.Text(), nullable=True),
        sa.Column("industry_code", sa.Text(), nullable=True),
        sa.Column("hierarchy_confirmed", sa.Boolean(), nullable=True),
        sa.Column("signed_out_by", sa.Text(), nullable=True),
        sa.Column("signed_in_by", sa.Text(), nullable=True),
        sa.Column("quantity_kg", sa.BigInteger(), nullable=True),
        sa.Column("quantity_basis", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_transfer_notes_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (note_number IS NOT NULL AND form IS NOT NULL AND made_out_at IS NOT NULL AND work_date IS NOT NULL AND valid_from IS NOT NULL AND valid_to IS NOT NULL AND stream IS NOT NULL AND waste_code IS NOT NULL AND description IS NOT NULL AND carrier IS NOT NULL AND destination IS NOT NULL AND container IS NOT NULL AND place IS NOT NULL AND transferor IS NOT NULL AND transferor_status IS NOT NULL AND industry_code IS NOT NULL AND hierarchy_confirmed IS NOT NULL AND signed_out_by IS NOT NULL AND signed_in_by IS NOT NULL)",
            name=op.f("ck_transfer_notes_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_transfer_notes_action")
        ),
        sa.CheckConstraint(
            "form IN ('transfer', 'season', 'consignment')", name=op.f("ck_transfer_notes_form")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_transfer_notes_reasoned")
        ),
        sa.CheckConstraint("valid_from <= valid_to", name=op.f("ck_transfer_notes_validity")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["transfer_notes.entry_id"], name=op.f("fk_transfer_notes_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_transfer_notes")),
    )
    op.create_index("ix_transfer_notes_fact", "transfer_notes", ["note_number"], unique=False)
    op.create_index(
        "uq_transfer_notes_supersedes",
        "transfer_notes",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.add_column("belt_readings", sa.Column("rollover_kg", sa.BigInteger(), nullable=True))
    op.add_column("stock_counts", sa.Column("height_mm", sa.BigInteger(), nullable=True))
    op.add_column("stock_counts", sa.Column("width_mm", sa.BigInteger(), nullable=True))
    op.add_column("stock_counts", sa.Column("length_mm", sa.BigInteger(), nullable=True))
    op.create_index("ix_stock_counts_work_date", "stock_counts", ["work_date"], unique=False)


def downgrade() -> None:
    for table in (
        "belt_checks",
        "gate_bookings",
        "gate_traffic",
        "reuse_declarations",
        "site_reuse",
        "transfer_notes",
    ):
        op.drop_table(table)
    op.drop_index("ix_stock_counts_work_date", table_name="stock_counts")
    for column in ("length_mm", "width_mm", "height_mm"):
        op.drop_column("stock_counts", column)
    op.drop_column("belt_readings", "rollover_kg")
