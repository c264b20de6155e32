-- What the plant writes down. An entry is never changed or taken out, which triggers see to; a wrong one is reversed by another.
-- Each entry has a row in the table of its kind, and moves: whole grams, of profile also millimetres, that add up to zero.

-- +goose Up
PRAGMA user_version = 3;

CREATE TABLE reasons (
	position INTEGER NOT NULL,
	code     TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name     TEXT NOT NULL,
	kind     TEXT NOT NULL CONSTRAINT "kind: stop, set-up, planned" CHECK (kind IN ('stop', 'set-up', 'planned'))
) STRICT, WITHOUT ROWID;

CREATE TABLE limits (
	position INTEGER NOT NULL,
	measure  TEXT NOT NULL CONSTRAINT "measure: moisture, contamination, MFR, bromine, HBCDD" CHECK (measure IN ('moisture', 'contamination', 'MFR', 'bromine', 'HBCDD')),
	use      TEXT NOT NULL,
	most     REAL NOT NULL CONSTRAINT "most: 0 or more" CHECK (most >= 0 AND most < 9e999),
	required INTEGER NOT NULL CHECK (required IN (0, 1)),
	source   TEXT NOT NULL,
	PRIMARY KEY (measure, use)
) STRICT, WITHOUT ROWID;

CREATE TABLE overrules (
	position INTEGER NOT NULL,
	estimate TEXT NOT NULL PRIMARY KEY CONSTRAINT "estimate: anything but blank" CHECK (trim(estimate, char(9, 10, 13, 32)) <> ''),
	note     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE entries (
	id       INTEGER PRIMARY KEY,
	version  INTEGER NOT NULL REFERENCES revisions,
	at       TEXT NOT NULL, -- RFC 3339, UTC
	who      TEXT NOT NULL,
	kind     TEXT NOT NULL CHECK (kind IN ('receipt', 'test', 'process', 'run', 'count', 'eta', 'shipment', 'reversal')),
	code     TEXT NOT NULL,
	day      TEXT NOT NULL CHECK (day IS date(day)),
	note     TEXT NOT NULL,
	history  INTEGER NOT NULL CHECK (history IN (0, 1)),
	reverses INTEGER UNIQUE REFERENCES entries,
	CHECK ((kind = 'reversal') = (reverses IS NOT NULL))
) STRICT;
CREATE INDEX entries_code ON entries (kind, code);

CREATE TABLE moves (
	entry   INTEGER NOT NULL REFERENCES entries,
	account TEXT NOT NULL CHECK (account IN ('lot', 'pellets', 'regrind', 'profile', 'outside', 'loss', 'difference')),
	code    TEXT NOT NULL,
	grams   INTEGER NOT NULL,
	millis  INTEGER NOT NULL,
	PRIMARY KEY (entry, account, code)
) STRICT, WITHOUT ROWID;

CREATE TABLE receipts (
	entry         INTEGER PRIMARY KEY REFERENCES entries,
	lot           TEXT NOT NULL CHECK (lot <> ''),
	delivery      TEXT,
	part          INTEGER NOT NULL CHECK (part IN (0, 1)),
	lane          TEXT,
	supplier      TEXT,
	material      TEXT NOT NULL,
	form          TEXT NOT NULL,
	source        TEXT NOT NULL,
	ordered       TEXT CHECK (ordered IS date(ordered)),
	gross_kg      REAL NOT NULL CHECK (gross_kg >= 0),
	tare_kg       REAL NOT NULL CHECK (tare_kg >= 0),
	net_kg        REAL NOT NULL CHECK (net_kg > 0),
	moisture      REAL CHECK (moisture BETWEEN 0 AND 1),
	contamination REAL CHECK (contamination BETWEEN 0 AND 1),
	mfr_g_in_10_min REAL CHECK (mfr_g_in_10_min >= 0),
	bromine_mg_kg REAL CHECK (bromine_mg_kg >= 0),
	hbcdd_mg_kg   REAL CHECK (hbcdd_mg_kg >= 0),
	decision      TEXT NOT NULL CHECK (decision IN ('', 'hold', 'release')),
	reason        TEXT NOT NULL,
	was_status    TEXT NOT NULL,
	was_mass_kg   REAL NOT NULL
) STRICT;
CREATE INDEX receipts_lot ON receipts (lot);

CREATE TABLE tests (
	entry         INTEGER PRIMARY KEY REFERENCES entries,
	lot           TEXT NOT NULL CHECK (lot <> ''),
	moisture      REAL CHECK (moisture BETWEEN 0 AND 1),
	contamination REAL CHECK (contamination BETWEEN 0 AND 1),
	mfr_g_in_10_min REAL CHECK (mfr_g_in_10_min >= 0),
	bromine_mg_kg REAL CHECK (bromine_mg_kg >= 0),
	hbcdd_mg_kg   REAL CHECK (hbcdd_mg_kg >= 0),
	decision      TEXT NOT NULL CHECK (decision IN ('', 'hold', 'release')),
	reason        TEXT NOT NULL,
	was_hold      INTEGER NOT NULL,
	was_reason    TEXT NOT NULL
) STRICT;

CREATE TABLE process_runs (
	entry          INTEGER PRIMARY KEY REFERENCES entries,
	shift          TEXT NOT NULL,
	step           TEXT NOT NULL CHECK (step <> ''),
	lots           TEXT NOT NULL CHECK (json_valid(lots)), -- [["lot", kg], …]
	regrind_kg     REAL NOT NULL CHECK (regrind_kg >= 0),
	grade          TEXT,
	out_kg         REAL NOT NULL CHECK (out_kg >= 0),
	filter_loss_kg REAL NOT NULL CHECK (filter_loss_kg >= 0),
	run_h          REAL NOT NULL CHECK (run_h >= 0)
) STRICT;

CREATE TABLE runs (
	entry    INTEGER PRIMARY KEY REFERENCES entries,
	shift    TEXT NOT NULL,
	line     TEXT NOT NULL CHECK (line <> ''),
	profile  TEXT NOT NULL CHECK (profile <> ''),
	good_m   REAL NOT NULL CHECK (good_m >= 0),
	scrap_kg REAL NOT NULL CHECK (scrap_kg >= 0),
	fed_kg   REAL NOT NULL CHECK (fed_kg >= 0), -- 0: not weighed
	run_h    REAL NOT NULL CHECK (run_h >= 0),
	setup_h  REAL NOT NULL CHECK (setup_h >= 0),
	down_h   REAL NOT NULL CHECK (down_h >= 0),
	stops    TEXT NOT NULL CHECK (json_valid(stops)) -- [["reason", hours], …]
) STRICT;

CREATE TABLE counts (
	entry         INTEGER PRIMARY KEY REFERENCES entries,
	counted       TEXT NOT NULL CHECK (counted IN ('lot', 'pellets', 'regrind', 'profile')),
	item          TEXT NOT NULL CHECK (item <> ''),
	mass_kg       REAL NOT NULL CHECK (mass_kg >= 0),
	length_m      REAL NOT NULL CHECK (length_m >= 0),
	book_mass_kg  REAL NOT NULL,
	book_length_m REAL NOT NULL
) STRICT;

CREATE TABLE eta_changes (
	entry       INTEGER PRIMARY KEY REFERENCES entries,
	delivery    TEXT NOT NULL CHECK (delivery <> ''),
	eta         TEXT CHECK (eta IS date(eta)),
	spread_days REAL CHECK (spread_days >= 0),
	status      TEXT NOT NULL,
	was_eta     TEXT CHECK (was_eta IS date(was_eta)),
	was_spread_days REAL NOT NULL,
	was_status  TEXT NOT NULL,
	was_late    INTEGER NOT NULL
) STRICT;

CREATE TABLE shipments (
	entry       INTEGER PRIMARY KEY REFERENCES entries,
	order_code  TEXT,
	profile     TEXT NOT NULL CHECK (profile <> ''),
	length_m    REAL NOT NULL CHECK (length_m > 0)
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER entries_changed BEFORE UPDATE ON entries
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entries_out BEFORE DELETE ON entries
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER moves_changed BEFORE UPDATE ON moves
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER moves_out BEFORE DELETE ON moves
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER receipts_changed BEFORE UPDATE ON receipts
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER receipts_out BEFORE DELETE ON receipts
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tests_changed BEFORE UPDATE ON tests
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tests_out BEFORE DELETE ON tests
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER process_runs_changed BEFORE UPDATE ON process_runs
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER process_runs_out BEFORE DELETE ON process_runs
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER runs_changed BEFORE UPDATE ON runs
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER runs_out BEFORE DELETE ON runs
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER counts_changed BEFORE UPDATE ON counts
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER counts_out BEFORE DELETE ON counts
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER eta_changes_changed BEFORE UPDATE ON eta_changes
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER eta_changes_out BEFORE DELETE ON eta_changes
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER shipments_changed BEFORE UPDATE ON shipments
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER shipments_out BEFORE DELETE ON shipments
BEGIN SELECT raise(ABORT, 'what was recorded stays: reverse the entry'); END;
-- +goose StatementEnd
