"""The first schema: entries of every kind and the running totals."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "baselines",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("baseline", sa.Text(), nullable=True),
        sa.Column("frozen_on", sa.String(10), nullable=True),
        sa.Column("vehicle", sa.Text(), nullable=True),
        sa.Column("payload_kg", sa.BigInteger(), nullable=True),
        sa.Column("payload_low_kg", sa.BigInteger(), nullable=True),
        sa.Column("payload_high_kg", sa.BigInteger(), nullable=True),
        sa.Column("distance_m", sa.BigInteger(), nullable=True),
        sa.Column("destination", sa.Text(), nullable=True),
        sa.Column("empty_return", sa.Boolean(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_baselines_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (baseline IS NOT NULL AND frozen_on IS NOT NULL AND vehicle IS NOT NULL AND payload_kg IS NOT NULL AND payload_low_kg IS NOT NULL AND payload_high_kg IS NOT NULL AND distance_m IS NOT NULL AND destination IS NOT NULL AND empty_return IS NOT NULL AND reference IS NOT NULL)",
            name=op.f("ck_baselines_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_baselines_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_baselines_reasoned")
        ),
        sa.CheckConstraint(
            "payload_low_kg > 0 AND payload_low_kg <= payload_kg AND payload_kg <= payload_high_kg",
            name=op.f("ck_baselines_payload"),
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["baselines.entry_id"], name=op.f("fk_baselines_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_baselines")),
    )
    op.create_index("ix_baselines_fact", "baselines", ["baseline", "frozen_on"], unique=False)
    op.create_index(
        "uq_baselines_supersedes",
        "baselines",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "belt_readings",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("read_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("shift", sa.Text(), nullable=True),
        sa.Column("belt", sa.Text(), nullable=True),
        sa.Column("route", sa.Text(), nullable=True),
        sa.Column("stream", sa.Text(), nullable=True),
        sa.Column("totaliser_kg", sa.BigInteger(), nullable=True),
        sa.Column("event", sa.Text(), nullable=True),
        sa.Column("energy_wh", sa.BigInteger(), nullable=True),
        sa.Column("running_min", sa.BigInteger(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_belt_readings_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (read_at IS NOT NULL AND work_date IS NOT NULL AND shift IS NOT NULL AND belt IS NOT NULL AND route IS NOT NULL AND stream IS NOT NULL AND totaliser_kg IS NOT NULL)",
            name=op.f("ck_belt_readings_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_belt_readings_action")
        ),
        sa.CheckConstraint(
            "event IN ('reading', 'reset', 'swap')", name=op.f("ck_belt_readings_event")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_belt_readings_reasoned")
        ),
        sa.CheckConstraint("totaliser_kg >= 0", name=op.f("ck_belt_readings_totaliser")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["belt_readings.entry_id"], name=op.f("fk_belt_readings_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_belt_readings")),
    )
    op.create_index("ix_belt_readings_fact", "belt_readings", ["belt", "read_at"], unique=False)
    op.create_index("ix_belt_readings_work_date", "belt_readings", ["work_date"], unique=False)
    op.create_index(
        "uq_belt_readings_supersedes",
        "belt_readings",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "closed_exceptions",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("rule", sa.Text(), nullable=True),
        sa.Column("about", sa.Text(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("closed_by", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_closed_exceptions_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (rule IS NOT NULL AND about IS NOT NULL AND reason IS NOT NULL AND closed_by IS NOT NULL)",
            name=op.f("ck_closed_exceptions_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')",
            name=op.f("ck_closed_exceptions_action"),
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_closed_exceptions_reasoned")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"],
            ["closed_exceptions.entry_id"],
            name=op.f("fk_closed_exceptions_supersedes"),
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_closed_exceptions")),
    )
    op.create_index(
        "ix_closed_exceptions_fact", "closed_exceptions", ["rule", "about"], unique=False
    )
    op.create_index(
        "uq_closed_exceptions_supersedes",
        "closed_exceptions",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "daily_totals",
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("measure", sa.Text(), nullable=False),
        sa.Column("zone", sa.Text(), nullable=False),
        sa.Column("stage", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("stream", sa.Text(), nullable=False),
        sa.Column("route", sa.Text(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint(
            "day",
            "measure",
            "zone",
            "stage",
            "stream",
            "route",
            "detail",
            name=op.f("pk_daily_totals"),
        ),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_daily_totals_measure", "daily_totals", ["measure", "day"], unique=False)
    op.create_table(
        "dig_returns",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("shift", sa.Text(), nullable=True),
        sa.Column("zone", sa.Text(), nullable=True),
        sa.Column("stage", sa.BigInteger(), nullable=True),
        sa.Column("stream", sa.Text(), nullable=True),
        sa.Column("basis", sa.Text(), nullable=True),
        sa.Column("bank_l", sa.BigInteger(), nullable=True),
        sa.Column("count", sa.BigInteger(), nullable=True),
        sa.Column("capacity_l", sa.BigInteger(), nullable=True),
        sa.Column("mass_kg", sa.BigInteger(), nullable=True),
        sa.Column("from_level_mm", sa.BigInteger(), nullable=True),
        sa.Column("to_level_mm", sa.BigInteger(), nullable=True),
        sa.Column("lowest_level_mm", sa.BigInteger(), nullable=True),
        sa.Column("nil_reason", sa.Text(), nullable=True),
        sa.Column("delays", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_dig_returns_chain")
        ),
        sa.CheckConstraint(
            "(nil_reason <> '') = (basis = '')", name=op.f("ck_dig_returns_nil_or_dug")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (work_date IS NOT NULL AND shift IS NOT NULL AND zone IS NOT NULL AND stage IS NOT NULL)",
            name=op.f("ck_dig_returns_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_dig_returns_action")
        ),
        sa.CheckConstraint(
            "basis IN ('', 'measured', 'counted', 'weighed', 'estimated')",
            name=op.f("ck_dig_returns_basis"),
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_dig_returns_reasoned")
        ),
        sa.CheckConstraint(
            "bank_l >= 0 AND count >= 0 AND capacity_l >= 0 AND mass_kg >= 0",
            name=op.f("ck_dig_returns_not_negative"),
        ),
        sa.CheckConstraint(
            "lowest_level_mm <= to_level_mm", name=op.f("ck_dig_returns_lowest_not_above")
        ),
        sa.CheckConstraint("to_level_mm <= from_level_mm", name=op.f("ck_dig_returns_downward")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["dig_returns.entry_id"], name=op.f("fk_dig_returns_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_dig_returns")),
    )
    op.create_index(
        "ix_dig_returns_fact",
        "dig_returns",
        ["work_date", "shift", "zone", "stage", "stream"],
        unique=False,
    )
    op.create_index(
        "ix_dig_returns_zone_lowest_level_mm",
        "dig_returns",
        ["zone", "lowest_level_mm"],
        unique=False,
    )
    op.create_index(
        "ix_dig_returns_zone_work_date_lowest_level_mm",
        "dig_returns",
        ["zone", "work_date", "lowest_level_mm"],
        unique=False,
    )
    op.create_index(
        "uq_dig_returns_supersedes",
        "dig_returns",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "hold_releases",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("decided_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("zone", sa.Text(), nullable=True),
        sa.Column("hold", sa.Text(), nullable=True),
        sa.Column("status", sa.Text(), nullable=True),
        sa.Column("permit", sa.Text(), nullable=True),
        sa.Column("decided_by", sa.Text(), nullable=True),
        sa.Column("accepted_area_dm2", sa.BigInteger(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_hold_releases_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (decided_at IS NOT NULL AND work_date IS NOT NULL AND zone IS NOT NULL AND hold IS NOT NULL AND status IS NOT NULL AND permit IS NOT NULL AND decided_by IS NOT NULL)",
            name=op.f("ck_hold_releases_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_hold_releases_action")
        ),
        sa.CheckConstraint(
            "status IN ('released', 'suspended', 'not released')",
            name=op.f("ck_hold_releases_status"),
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_hold_releases_reasoned")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["hold_releases.entry_id"], name=op.f("fk_hold_releases_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_hold_releases")),
    )
    op.create_index(
        "ix_hold_releases_fact", "hold_releases", ["zone", "hold", "decided_at"], unique=False
    )
    op.create_index(
        "uq_hold_releases_supersedes",
        "hold_releases",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "lorry_loads",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("ticket_issuer", sa.Text(), nullable=True),
        sa.Column("ticket_number", sa.Text(), nullable=True),
        sa.Column("gate_in_at", sa.String(32), nullable=True),
        sa.Column("gate_out_at", sa.String(32), nullable=True),
        sa.Column("in_date", sa.String(10), nullable=True),
        sa.Column("in_hour", sa.BigInteger(), nullable=True),
        sa.Column("gate_date", sa.String(10), nullable=True),
        sa.Column("out_hour", sa.BigInteger(), nullable=True),
        sa.Column("carrier", sa.Text(), nullable=True),
        sa.Column("vehicle", sa.Text(), nullable=True),
        sa.Column("registration", sa.Text(), nullable=True),
        sa.Column("stream", sa.Text(), nullable=True),
        sa.Column("zone", sa.Text(), nullable=True),
        sa.Column("route", sa.Text(), nullable=True),
        sa.Column("destination", sa.Text(), nullable=True),
        sa.Column("gross_kg", sa.BigInteger(), nullable=True),
        sa.Column("tare_kg", sa.BigInteger(), nullable=True),
        sa.Column("net_kg", sa.BigInteger(), nullable=True),
        sa.Column("weight_basis", sa.Text(), nullable=True),
        sa.Column("outcome", sa.Text(), nullable=True),
        sa.Column("reconsigned_from", sa.Text(), nullable=True),
        sa.Column("transfer_note", sa.Text(), nullable=True),
        sa.Column("override_reason", sa.Text(), nullable=True),
        sa.Column("flags", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_lorry_loads_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (ticket_issuer IS NOT NULL AND ticket_number IS NOT NULL AND gate_out_at IS NOT NULL AND in_date IS NOT NULL AND in_hour IS NOT NULL AND gate_date IS NOT NULL AND out_hour IS NOT NULL AND carrier IS NOT NULL AND vehicle IS NOT NULL AND registration IS NOT NULL AND stream IS NOT NULL AND zone IS NOT NULL AND route IS NOT NULL AND destination IS NOT NULL)",
            name=op.f("ck_lorry_loads_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_lorry_loads_action")
        ),
        sa.CheckConstraint(
            "outcome IN ('accepted', 'rejected')", name=op.f("ck_lorry_loads_outcome")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_lorry_loads_reasoned")
        ),
        sa.CheckConstraint(
            "weight_basis IN ('weighed', 'estimated', 'none')",
            name=op.f("ck_lorry_loads_weight_basis"),
        ),
        sa.CheckConstraint("gate_in_at <= gate_out_at", name=op.f("ck_lorry_loads_in_before_out")),
        sa.CheckConstraint(
            "net_kg >= 0 AND tare_kg >= 0 AND gross_kg >= tare_kg",
            name=op.f("ck_lorry_loads_weights"),
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["lorry_loads.entry_id"], name=op.f("fk_lorry_loads_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_lorry_loads")),
    )
    op.create_index(
        "ix_lorry_loads_fact", "lorry_loads", ["ticket_issuer", "ticket_number"], unique=False
    )
    op.create_index(
        "ix_lorry_loads_flagged",
        "lorry_loads",
        ["gate_date"],
        unique=False,
        sqlite_where=sa.text("flags != ''"),
        postgresql_where=sa.text("flags != ''"),
    )
    op.create_index("ix_lorry_loads_gate_date", "lorry_loads", ["gate_date"], unique=False)
    op.create_index(
        "ix_lorry_loads_registration_gate_out_at",
        "lorry_loads",
        ["registration", "gate_out_at"],
        unique=False,
    )
    op.create_index(
        "uq_lorry_loads_supersedes",
        "lorry_loads",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "receipts",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("receipt_number", sa.Text(), nullable=True),
        sa.Column("receipt_date", sa.String(10), nullable=True),
        sa.Column("destination", sa.Text(), nullable=True),
        sa.Column("ticket_issuer", sa.Text(), nullable=True),
        sa.Column("ticket_number", sa.Text(), nullable=True),
        sa.Column("waste_code", sa.Text(), nullable=True),
        sa.Column("accepted_kg", sa.BigInteger(), nullable=True),
        sa.Column("outcome", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_receipts_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (receipt_number IS NOT NULL AND receipt_date IS NOT NULL AND destination IS NOT NULL AND ticket_issuer IS NOT NULL AND ticket_number IS NOT NULL AND waste_code IS NOT NULL AND accepted_kg IS NOT NULL)",
            name=op.f("ck_receipts_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_receipts_action")
        ),
        sa.CheckConstraint("outcome IN ('accepted', 'rejected')", name=op.f("ck_receipts_outcome")),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_receipts_reasoned")
        ),
        sa.CheckConstraint("accepted_kg >= 0", name=op.f("ck_receipts_accepted")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["receipts.entry_id"], name=op.f("fk_receipts_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_receipts")),
    )
    op.create_index("ix_receipts_fact", "receipts", ["destination", "receipt_number"], unique=False)
    op.create_index("ix_receipts_receipt_date", "receipts", ["receipt_date"], unique=False)
    op.create_index(
        "ix_receipts_ticket_issuer_ticket_number",
        "receipts",
        ["ticket_issuer", "ticket_number"],
        unique=False,
    )
    op.create_index(
        "uq_receipts_supersedes",
        "receipts",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "setup_revisions",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("effective_date", sa.String(10), nullable=True),
        sa.Column("title", sa.Text(), nullable=True),
        sa.Column("tables", sa.Text(), nullable=True),
        sa.Column("digest", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_setup_revisions_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (effective_date IS NOT NULL AND title IS NOT NULL AND tables IS NOT NULL AND digest IS NOT NULL)",
            name=op.f("ck_setup_revisions_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_setup_revisions_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_setup_revisions_reasoned")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["setup_revisions.entry_id"], name=op.f("fk_setup_revisions_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_setup_revisions")),
    )
    op.create_index(
        "ix_setup_revisions_fact", "setup_revisions", ["digest", "effective_date"], unique=False
    )
    op.create_index(
        "uq_setup_revisions_supersedes",
        "setup_revisions",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "stock_counts",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("counted_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("location", sa.Text(), nullable=True),
        sa.Column("stream", sa.Text(), nullable=True),
        sa.Column("loose_l", sa.BigInteger(), nullable=True),
        sa.Column("method", sa.Text(), nullable=True),
        sa.Column("surcharge_limit_l", sa.BigInteger(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_stock_counts_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (counted_at IS NOT NULL AND work_date IS NOT NULL AND location IS NOT NULL AND stream IS NOT NULL AND loose_l IS NOT NULL AND method IS NOT NULL)",
            name=op.f("ck_stock_counts_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_stock_counts_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_stock_counts_reasoned")
        ),
        sa.CheckConstraint("loose_l >= 0", name=op.f("ck_stock_counts_not_negative")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["stock_counts.entry_id"], name=op.f("fk_stock_counts_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_stock_counts")),
    )
    op.create_index(
        "ix_stock_counts_fact", "stock_counts", ["location", "stream", "counted_at"], unique=False
    )
    op.create_index(
        "uq_stock_counts_supersedes",
        "stock_counts",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
    op.create_table(
        "survey_levels",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("change_reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("survey", sa.Text(), nullable=True),
        sa.Column("surveyed_at", sa.String(32), nullable=True),
        sa.Column("work_date", sa.String(10), nullable=True),
        sa.Column("zone", sa.Text(), nullable=True),
        sa.Column("lowest_level_mm", sa.BigInteger(), nullable=True),
        sa.Column("dug_bank_l", sa.BigInteger(), nullable=True),
        sa.Column("method", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(action = 'recorded') = (supersedes IS NULL)", name=op.f("ck_survey_levels_chain")
        ),
        sa.CheckConstraint(
            "action = 'withdrawn' OR (survey IS NOT NULL AND surveyed_at IS NOT NULL AND work_date IS NOT NULL AND zone IS NOT NULL AND lowest_level_mm IS NOT NULL)",
            name=op.f("ck_survey_levels_complete"),
        ),
        sa.CheckConstraint(
            "action IN ('recorded', 'amended', 'withdrawn')", name=op.f("ck_survey_levels_action")
        ),
        sa.CheckConstraint(
            "supersedes IS NULL OR change_reason <> ''", name=op.f("ck_survey_levels_reasoned")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["survey_levels.entry_id"], name=op.f("fk_survey_levels_supersedes")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_survey_levels")),
    )
    op.create_index("ix_survey_levels_fact", "survey_levels", ["survey", "zone"], unique=False)
    op.create_index(
        "ix_survey_levels_zone_lowest_level_mm",
        "survey_levels",
        ["zone", "lowest_level_mm"],
        unique=False,
    )
    op.create_index(
        "uq_survey_levels_supersedes",
        "survey_levels",
        ["supersedes"],
        unique=True,
        sqlite_where=sa.text("supersedes IS NOT NULL"),
        postgresql_where=sa.text("supersedes IS NOT NULL"),
    )
