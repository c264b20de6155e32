-- Version 2: what runs by itself, alerts and the messages about them, roles, and the log of what was done beside the records.
-- Times are RFC 3339, UTC.

-- +goose Up
PRAGMA user_version = 2;

-- The jobs of the watch: up to when runs that were due are dealt with, and how the last one went.
CREATE TABLE jobs (
	name    TEXT NOT NULL PRIMARY KEY,
	dealt   TEXT NOT NULL,
	started TEXT NOT NULL, -- '' if it never ran
	ended   TEXT NOT NULL, -- '' while it runs, or if it was cut off
	outcome TEXT NOT NULL CONSTRAINT "outcome: done, failed, skipped, stopped or blank" CHECK (outcome IN ('', 'done', 'failed', 'skipped', 'stopped')),
	word    TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- An alert's body is a document of its own version. Of each key one alert at most is open.
CREATE TABLE alerts (
	id   INTEGER PRIMARY KEY AUTOINCREMENT,
	key  TEXT NOT NULL,
	open INTEGER NOT NULL CHECK (open IN (0, 1)),
	body TEXT NOT NULL CHECK (json_valid(body))
) STRICT;
CREATE UNIQUE INDEX alerts_open ON alerts (key) WHERE open;

-- Messages on their way: they leave the table's open part when they were sent or given up.
CREATE TABLE outbox (
	id      INTEGER PRIMARY KEY AUTOINCREMENT,
	channel TEXT NOT NULL,
	body    TEXT NOT NULL CHECK (json_valid(body)),
	made    TEXT NOT NULL,
	tries   INTEGER NOT NULL CHECK (tries >= 0),
	next    TEXT NOT NULL,
	state   TEXT NOT NULL CHECK (state IN ('waiting', 'sent', 'given up')),
	trouble TEXT NOT NULL
) STRICT;
CREATE INDEX outbox_waiting ON outbox (id) WHERE state = 'waiting';

-- Who may do what. While there are no rows everybody may do everything.
CREATE TABLE roles (
	kind TEXT NOT NULL CONSTRAINT "kind: user, group" CHECK (kind IN ('user', 'group')),
	name TEXT NOT NULL CONSTRAINT "name: anything but blank" CHECK (trim(name) <> ''),
	role TEXT NOT NULL CONSTRAINT "role: admin, scheduler, purchasing, owner, watch" CHECK (role IN ('admin', 'scheduler', 'purchasing', 'owner', 'watch')),
	PRIMARY KEY (kind, name, role)
) STRICT, WITHOUT ROWID;

CREATE TABLE deeds (
	id      INTEGER PRIMARY KEY AUTOINCREMENT,
	at      TEXT NOT NULL,
	who     TEXT NOT NULL,
	deed    TEXT NOT NULL,
	subject TEXT NOT NULL,
	word    TEXT NOT NULL
) STRICT;
