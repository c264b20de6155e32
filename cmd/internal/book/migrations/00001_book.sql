-- The plant book, version 1. One table for each list of planner.Input, named as the sheets are, in an order in which codes
-- are entered before they are named. Names of constraints are "column: what is allowed", for messages. Amounts are in the
-- units that the columns' names end in; shares are fractions of one; days are local dates; a span ends before its to_day.
-- Numbers are finite: 9e999 reads as infinity.

-- +goose Up
PRAGMA application_id = 1178944836; -- "FEED"
PRAGMA user_version = 1;

CREATE TABLE revisions (
	version INTEGER PRIMARY KEY,
	at      TEXT NOT NULL, -- RFC 3339, UTC
	who     TEXT NOT NULL,
	note    TEXT NOT NULL
) STRICT;

-- A row that was entered has no before, one that was taken out no after, a table put in another order neither.
CREATE TABLE changes (
	id         INTEGER PRIMARY KEY,
	version    INTEGER NOT NULL REFERENCES revisions,
	table_name TEXT NOT NULL,
	key        TEXT NOT NULL,
	before     TEXT CHECK (before IS NULL OR json_valid(before)),
	after      TEXT CHECK (after IS NULL OR json_valid(after))
) STRICT;
CREATE INDEX changes_version ON changes (version);

CREATE TABLE settings (
	name  TEXT NOT NULL PRIMARY KEY,
	value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE plant (
	position             INTEGER NOT NULL PRIMARY KEY CHECK (position = 1),
	name                 TEXT NOT NULL,
	currency             TEXT NOT NULL CONSTRAINT "currency: three capital letters of ISO 4217 such as EUR" CHECK (currency = '' OR currency GLOB '[A-Z][A-Z][A-Z]'),
	zone                 TEXT NOT NULL,
	units                TEXT NOT NULL CONSTRAINT "units: metric, us" CHECK (units IN ('metric', 'us')),
	yard_m3              REAL NOT NULL CONSTRAINT "yard_m3: 0 or more" CHECK (yard_m3 >= 0 AND yard_m3 < 9e999),
	rack_m3              REAL NOT NULL CONSTRAINT "rack_m3: 0 or more" CHECK (rack_m3 >= 0 AND rack_m3 < 9e999),
	crew                 REAL NOT NULL CONSTRAINT "crew: 0 or more" CHECK (crew >= 0 AND crew < 9e999),
	crew_cost_an_h       REAL NOT NULL CONSTRAINT "crew_cost_an_h: 0 or more" CHECK (crew_cost_an_h >= 0 AND crew_cost_an_h < 9e999),
	fitter_h             REAL NOT NULL CONSTRAINT "fitter_h: 0 or more" CHECK (fitter_h >= 0 AND fitter_h < 9e999),
	fitter_cost_an_h     REAL NOT NULL CONSTRAINT "fitter_cost_an_h: 0 or more" CHECK (fitter_cost_an_h >= 0 AND fitter_cost_an_h < 9e999),
	energy_price_a_kwh   REAL NOT NULL CONSTRAINT "energy_price_a_kwh: 0 or more" CHECK (energy_price_a_kwh >= 0 AND energy_price_a_kwh < 9e999),
	regrind_yield        REAL NOT NULL CONSTRAINT "regrind_yield: 0 to 1" CHECK (regrind_yield BETWEEN 0 AND 1),
	holding_rate         REAL NOT NULL CONSTRAINT "holding_rate: 0 to 1" CHECK (holding_rate BETWEEN 0 AND 1),
	late_cost_a_day      REAL NOT NULL CONSTRAINT "late_cost_a_day: 0 to 1" CHECK (late_cost_a_day BETWEEN 0 AND 1),
	unmet_cost           REAL NOT NULL CONSTRAINT "unmet_cost: 0 to 10" CHECK (unmet_cost BETWEEN 0 AND 10),
	shortfall_price_a_kg REAL NOT NULL CONSTRAINT "shortfall_price_a_kg: 0 or more" CHECK (shortfall_price_a_kg >= 0 AND shortfall_price_a_kg < 9e999),
	arrival_quantile     REAL NOT NULL CONSTRAINT "arrival_quantile: 0.5 or more and below 1" CHECK (arrival_quantile = 0 OR arrival_quantile >= 0.5 AND arrival_quantile < 1),
	service_level        REAL NOT NULL CONSTRAINT "service_level: 0.5 or more and below 1" CHECK (service_level = 0 OR service_level >= 0.5 AND service_level < 1),
	daily_days           INTEGER NOT NULL CONSTRAINT "daily_days: 0 to 366" CHECK (daily_days BETWEEN 0 AND 366),
	weeks                INTEGER NOT NULL CONSTRAINT "weeks: 0 to 520" CHECK (weeks BETWEEN 0 AND 520),
	frozen_days          INTEGER NOT NULL CONSTRAINT "frozen_days: 0 to 366" CHECK (frozen_days BETWEEN 0 AND 366),
	change_cost          REAL NOT NULL CONSTRAINT "change_cost: 0 or more" CHECK (change_cost >= 0 AND change_cost < 9e999)
) STRICT;

CREATE TABLE materials (
	position           INTEGER NOT NULL,
	code               TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name               TEXT NOT NULL,
	form               TEXT NOT NULL CONSTRAINT "form: ingot, block, flake, pellet, virgin, regrind" CHECK (form IN ('ingot', 'block', 'flake', 'pellet', 'virgin', 'regrind')),
	source             TEXT NOT NULL CONSTRAINT "source: post-consumer, pre-consumer, virgin, in-house" CHECK (source IN ('post-consumer', 'pre-consumer', 'virgin', 'in-house')),
	polymer            TEXT NOT NULL CONSTRAINT "polymer: GPPS, HIPS, EPS" CHECK (polymer IN ('GPPS', 'HIPS', 'EPS')),
	colour             TEXT NOT NULL,
	mfr_g_in_10_min    REAL NOT NULL CONSTRAINT "mfr_g_in_10_min: 0 or more" CHECK (mfr_g_in_10_min >= 0 AND mfr_g_in_10_min < 9e999),
	moisture           REAL NOT NULL CONSTRAINT "moisture: 0 to 1" CHECK (moisture BETWEEN 0 AND 1),
	contamination      REAL NOT NULL CONSTRAINT "contamination: 0 to 1" CHECK (contamination BETWEEN 0 AND 1),
	price_a_kg         REAL NOT NULL CONSTRAINT "price_a_kg: 0 or more" CHECK (price_a_kg >= 0 AND price_a_kg < 9e999),
	bulk_density_kg_m3 REAL NOT NULL CONSTRAINT "bulk_density_kg_m3: 0 to 1100" CHECK (bulk_density_kg_m3 BETWEEN 0 AND 1100)
) STRICT, WITHOUT ROWID;

CREATE TABLE grades (
	position            INTEGER NOT NULL,
	code                TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name                TEXT NOT NULL,
	silo_kg             REAL NOT NULL CONSTRAINT "silo_kg: 0 or more" CHECK (silo_kg >= 0 AND silo_kg < 9e999),
	mfr_min_g_in_10_min REAL NOT NULL CONSTRAINT "mfr_min_g_in_10_min: 0 or more" CHECK (mfr_min_g_in_10_min >= 0 AND mfr_min_g_in_10_min < 9e999),
	mfr_max_g_in_10_min REAL NOT NULL CONSTRAINT "mfr_max_g_in_10_min: 0 or more" CHECK (mfr_max_g_in_10_min >= 0 AND mfr_max_g_in_10_min < 9e999),
	min_recycled        REAL NOT NULL CONSTRAINT "min_recycled: 0 to 1" CHECK (min_recycled BETWEEN 0 AND 1),
	max_regrind         REAL NOT NULL CONSTRAINT "max_regrind: 0 to 1" CHECK (max_regrind BETWEEN 0 AND 1),
	max_hips            REAL NOT NULL CONSTRAINT "max_hips: 0 to 1" CHECK (max_hips BETWEEN 0 AND 1),
	stock_target_kg     REAL NOT NULL CONSTRAINT "stock_target_kg: 0 or more" CHECK (stock_target_kg >= 0 AND stock_target_kg < 9e999),
	CONSTRAINT "mfr_min_g_in_10_min: up to mfr_max_g_in_10_min" CHECK (mfr_max_g_in_10_min = 0 OR mfr_min_g_in_10_min <= mfr_max_g_in_10_min)
) STRICT, WITHOUT ROWID;

CREATE TABLE recipes (
	position  INTEGER NOT NULL,
	grade     TEXT NOT NULL REFERENCES grades,
	material  TEXT NOT NULL REFERENCES materials,
	min_share REAL NOT NULL CONSTRAINT "min_share: 0 to 1" CHECK (min_share BETWEEN 0 AND 1),
	max_share REAL NOT NULL CONSTRAINT "max_share: 0 to 1" CHECK (max_share BETWEEN 0 AND 1),
	PRIMARY KEY (grade, material),
	CONSTRAINT "min_share: up to max_share" CHECK (min_share <= max_share)
) STRICT, WITHOUT ROWID;

CREATE TABLE steps (
	position     INTEGER NOT NULL,
	code         TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name         TEXT NOT NULL,
	pass_order   INTEGER NOT NULL,
	forms        TEXT NOT NULL CONSTRAINT "forms: ingot, block, flake, pellet, virgin, regrind" CHECK (json_valid(forms) AND json_type(forms) = 'array'
		AND trim(replace(replace(replace(replace(replace(replace(forms, '"ingot"', ''), '"block"', ''), '"flake"', ''), '"pellet"', ''), '"virgin"', ''), '"regrind"', ''), '[,]') = ''),
	yield        REAL NOT NULL CONSTRAINT "yield: above 0, up to 1" CHECK (yield > 0 AND yield <= 1),
	rate_kg_h    REAL NOT NULL CONSTRAINT "rate_kg_h: 0 or more" CHECK (rate_kg_h >= 0 AND rate_kg_h < 9e999),
	machines     INTEGER NOT NULL CONSTRAINT "machines: 0 or more" CHECK (machines >= 0),
	availability REAL NOT NULL CONSTRAINT "availability: 0 to 1" CHECK (availability BETWEEN 0 AND 1),
	cost_a_kg    REAL NOT NULL CONSTRAINT "cost_a_kg: 0 or more" CHECK (cost_a_kg >= 0 AND cost_a_kg < 9e999)
) STRICT, WITHOUT ROWID;

CREATE TABLE step_yields (
	position INTEGER NOT NULL,
	step     TEXT NOT NULL REFERENCES steps,
	material TEXT NOT NULL REFERENCES materials,
	yield    REAL NOT NULL CONSTRAINT "yield: above 0, up to 1" CHECK (yield > 0 AND yield <= 1),
	PRIMARY KEY (step, material)
) STRICT, WITHOUT ROWID;

CREATE TABLE profiles (
	position        INTEGER NOT NULL,
	code            TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name            TEXT NOT NULL,
	grade           TEXT NOT NULL REFERENCES grades,
	mass_kg_m       REAL NOT NULL CONSTRAINT "mass_kg_m: more than 0" CHECK (mass_kg_m > 0 AND mass_kg_m < 9e999),
	die_family      TEXT NOT NULL,
	dies            INTEGER NOT NULL CONSTRAINT "dies: 1 or more" CHECK (dies >= 1),
	price_a_m       REAL NOT NULL CONSTRAINT "price_a_m: 0 or more" CHECK (price_a_m >= 0 AND price_a_m < 9e999),
	rack_l_m        REAL NOT NULL CONSTRAINT "rack_l_m: 0 or more" CHECK (rack_l_m >= 0 AND rack_l_m < 9e999),
	stock_target_m  REAL NOT NULL CONSTRAINT "stock_target_m: 0 or more" CHECK (stock_target_m >= 0 AND stock_target_m < 9e999)
) STRICT, WITHOUT ROWID;

CREATE TABLE lines (
	position               INTEGER NOT NULL,
	code                   TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name                   TEXT NOT NULL,
	state                  TEXT NOT NULL CONSTRAINT "state: running, ready, down, uncommissioned" CHECK (state IN ('running', 'ready', 'down', 'uncommissioned')),
	down_until             TEXT CONSTRAINT "down_until: a day as YYYY-MM-DD" CHECK (down_until IS date(down_until)),
	commissioning_earliest TEXT CONSTRAINT "commissioning_earliest: a day as YYYY-MM-DD" CHECK (commissioning_earliest IS date(commissioning_earliest)),
	commissioning_days     INTEGER NOT NULL CONSTRAINT "commissioning_days: 0 or more" CHECK (commissioning_days >= 0),
	commissioning_cost     REAL NOT NULL CONSTRAINT "commissioning_cost: 0 or more" CHECK (commissioning_cost >= 0 AND commissioning_cost < 9e999),
	mounted                TEXT REFERENCES profiles,
	crew                   REAL NOT NULL CONSTRAINT "crew: 0 or more" CHECK (crew >= 0 AND crew < 9e999),
	startup_h              REAL NOT NULL CONSTRAINT "startup_h: 0 or more" CHECK (startup_h >= 0 AND startup_h < 9e999),
	startup_scrap_kg       REAL NOT NULL CONSTRAINT "startup_scrap_kg: 0 or more" CHECK (startup_scrap_kg >= 0 AND startup_scrap_kg < 9e999),
	startup_cost           REAL NOT NULL CONSTRAINT "startup_cost: 0 or more" CHECK (startup_cost >= 0 AND startup_cost < 9e999),
	min_run_days           INTEGER NOT NULL CONSTRAINT "min_run_days: 0 or more" CHECK (min_run_days >= 0),
	min_stop_days          INTEGER NOT NULL CONSTRAINT "min_stop_days: 0 or more" CHECK (min_stop_days >= 0),
	screw_mm               REAL NOT NULL CONSTRAINT "screw_mm: 0 or more" CHECK (screw_mm >= 0 AND screw_mm < 9e999),
	base_kw                REAL NOT NULL CONSTRAINT "base_kw: 0 or more" CHECK (base_kw >= 0 AND base_kw < 9e999),
	energy_kwh_kg          REAL NOT NULL CONSTRAINT "energy_kwh_kg: 0 or more" CHECK (energy_kwh_kg >= 0 AND energy_kwh_kg < 9e999),
	note                   TEXT NOT NULL,
	CONSTRAINT "down_until: the first day back, for a line that is down" CHECK (state <> 'down' OR down_until IS NOT NULL)
) STRICT, WITHOUT ROWID;

CREATE TABLE rates (
	position      INTEGER NOT NULL,
	line          TEXT NOT NULL REFERENCES lines,
	profile       TEXT NOT NULL REFERENCES profiles,
	melt_kg_h     REAL NOT NULL CONSTRAINT "melt_kg_h: 0 or more" CHECK (melt_kg_h >= 0 AND melt_kg_h < 9e999),
	haul_off_m_min REAL NOT NULL CONSTRAINT "haul_off_m_min: 0 or more" CHECK (haul_off_m_min >= 0 AND haul_off_m_min < 9e999),
	strands       INTEGER NOT NULL CONSTRAINT "strands: 1 or more" CHECK (strands >= 1),
	availability  REAL NOT NULL CONSTRAINT "availability: above 0, up to 1" CHECK (availability > 0 AND availability <= 1),
	quality       REAL NOT NULL CONSTRAINT "quality: above 0, up to 1" CHECK (quality > 0 AND quality <= 1),
	PRIMARY KEY (line, profile),
	CONSTRAINT "melt_kg_h: more than 0, unless there is a haul-off limit" CHECK (melt_kg_h > 0 OR haul_off_m_min > 0)
) STRICT, WITHOUT ROWID;

CREATE TABLE changeovers (
	position    INTEGER NOT NULL,
	from_family TEXT NOT NULL,
	to_family   TEXT NOT NULL CONSTRAINT "to_family: anything but blank" CHECK (trim(to_family, char(9, 10, 13, 32)) <> ''),
	line_h      REAL NOT NULL CONSTRAINT "line_h: 0 or more" CHECK (line_h >= 0 AND line_h < 9e999),
	scrap_kg    REAL NOT NULL CONSTRAINT "scrap_kg: 0 or more" CHECK (scrap_kg >= 0 AND scrap_kg < 9e999),
	fitter_h    REAL NOT NULL CONSTRAINT "fitter_h: 0 or more" CHECK (fitter_h >= 0 AND fitter_h < 9e999),
	cost        REAL NOT NULL CONSTRAINT "cost: 0 or more" CHECK (cost >= 0 AND cost < 9e999),
	PRIMARY KEY (from_family, to_family)
) STRICT, WITHOUT ROWID;

-- Weekdays are the letters of the days that a shift starts on, Monday first, a hyphen for the others. Times count from
-- midnight of that day, and so may be beyond 24:00 at the end.
CREATE TABLE shifts (
	position   INTEGER NOT NULL,
	code       TEXT NOT NULL PRIMARY KEY,
	weekdays   TEXT NOT NULL CONSTRAINT "weekdays: at least one day" CHECK (weekdays GLOB '[-M][-T][-W][-T][-F][-S][-S]' AND weekdays <> '-------'),
	start_time TEXT NOT NULL CONSTRAINT "start_time: 00:00 to before 24:00, in whole minutes" CHECK (start_time GLOB '[0-2][0-9]:[0-5][0-9]' AND start_time < '24:00'),
	end_time   TEXT NOT NULL CONSTRAINT "end_time: after the start by at most 24 h, in whole minutes" CHECK (end_time GLOB '[0-4][0-9]:[0-5][0-9]' AND end_time > start_time
		AND end_time <= printf('%02d%s', substr(start_time, 1, 2) + 24, substr(start_time, 3)))
) STRICT, WITHOUT ROWID;

CREATE TABLE closures (
	position INTEGER NOT NULL,
	code     TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	from_day TEXT NOT NULL CONSTRAINT "from_day: a day as YYYY-MM-DD" CHECK (from_day IS date(from_day)),
	to_day   TEXT NOT NULL CONSTRAINT "to_day: a day as YYYY-MM-DD" CHECK (to_day IS date(to_day)),
	note     TEXT NOT NULL,
	CONSTRAINT "to_day: after from_day" CHECK (from_day < to_day)
) STRICT, WITHOUT ROWID;

-- Times are the plant's wall clock; one that the clocks show for the second time has its offset from UTC behind it.
CREATE TABLE outages (
	position  INTEGER NOT NULL,
	code      TEXT NOT NULL PRIMARY KEY,
	machine   TEXT NOT NULL,
	from_time TEXT NOT NULL CONSTRAINT "from_time: a time on the plant's clock, in whole minutes" CHECK (substr(from_time, 1, 16) IS strftime('%Y-%m-%d %H:%M', substr(from_time, 1, 16))),
	to_time   TEXT NOT NULL CONSTRAINT "to_time: a time on the plant's clock, in whole minutes" CHECK (substr(to_time, 1, 16) IS strftime('%Y-%m-%d %H:%M', substr(to_time, 1, 16))),
	note      TEXT NOT NULL,
	CONSTRAINT "to_time: after from_time" CHECK (length(from_time) > 16 OR length(to_time) > 16 OR from_time < to_time)
) STRICT, WITHOUT ROWID;

-- A machine is a line or a step, which no foreign key can say.
-- +goose StatementBegin
CREATE TRIGGER outages_entered BEFORE INSERT ON outages
WHEN NOT EXISTS (SELECT 1 FROM lines WHERE code = new.machine) AND NOT EXISTS (SELECT 1 FROM steps WHERE code = new.machine)
BEGIN SELECT raise(ABORT, 'machine: the code of a line or a step'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outages_changed BEFORE UPDATE OF machine ON outages
WHEN NOT EXISTS (SELECT 1 FROM lines WHERE code = new.machine) AND NOT EXISTS (SELECT 1 FROM steps WHERE code = new.machine)
BEGIN SELECT raise(ABORT, 'machine: the code of a line or a step'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER lines_out BEFORE DELETE ON lines
WHEN EXISTS (SELECT 1 FROM outages WHERE machine = old.code) AND NOT EXISTS (SELECT 1 FROM steps WHERE code = old.code)
BEGIN SELECT raise(ABORT, 'code: no line that outages name'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER steps_out BEFORE DELETE ON steps
WHEN EXISTS (SELECT 1 FROM outages WHERE machine = old.code) AND NOT EXISTS (SELECT 1 FROM lines WHERE code = old.code)
BEGIN SELECT raise(ABORT, 'code: no step that outages name'); END;
-- +goose StatementEnd

CREATE TABLE suppliers (
	position INTEGER NOT NULL,
	code     TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name     TEXT NOT NULL,
	country  TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE lanes (
	position               INTEGER NOT NULL,
	code                   TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	name                   TEXT NOT NULL,
	supplier               TEXT NOT NULL REFERENCES suppliers,
	material               TEXT NOT NULL REFERENCES materials,
	mode                   TEXT NOT NULL CONSTRAINT "mode: van, trailer, container 40, container 20, bulk" CHECK (mode IN ('van', 'trailer', 'container 40', 'container 20', 'bulk')),
	import                 INTEGER NOT NULL CHECK (import IN (0, 1)),
	load_kg                REAL NOT NULL CONSTRAINT "load_kg: more than 0" CHECK (load_kg > 0 AND load_kg < 9e999),
	min_loads              INTEGER NOT NULL CONSTRAINT "min_loads: 0 or more" CHECK (min_loads >= 0),
	loads_a_week           REAL NOT NULL CONSTRAINT "loads_a_week: 0 or more" CHECK (loads_a_week >= 0 AND loads_a_week < 9e999),
	lead_time_distribution TEXT NOT NULL CONSTRAINT "lead_time_distribution: fixed, normal, lognormal, gamma" CHECK (lead_time_distribution IN ('fixed', 'normal', 'lognormal', 'gamma')),
	lead_time_mean_days    REAL NOT NULL CONSTRAINT "lead_time_mean_days: 0 or more" CHECK (lead_time_mean_days >= 0 AND lead_time_mean_days < 9e999),
	lead_time_sd_days      REAL NOT NULL CONSTRAINT "lead_time_sd_days: 0 or more" CHECK (lead_time_sd_days >= 0 AND lead_time_sd_days < 9e999),
	price_a_kg             REAL NOT NULL CONSTRAINT "price_a_kg: 0 or more" CHECK (price_a_kg >= 0 AND price_a_kg < 9e999),
	freight_a_load         REAL NOT NULL CONSTRAINT "freight_a_load: 0 or more" CHECK (freight_a_load >= 0 AND freight_a_load < 9e999),
	currency               TEXT NOT NULL CONSTRAINT "currency: three capital letters of ISO 4217 such as EUR" CHECK (currency = '' OR currency GLOB '[A-Z][A-Z][A-Z]'),
	exchange_rate          REAL NOT NULL CONSTRAINT "exchange_rate: 0 or more" CHECK (exchange_rate >= 0 AND exchange_rate < 9e999),
	from_day               TEXT CONSTRAINT "from_day: a day as YYYY-MM-DD" CHECK (from_day IS date(from_day)),
	to_day                 TEXT CONSTRAINT "to_day: a day as YYYY-MM-DD" CHECK (to_day IS date(to_day)),
	CONSTRAINT "lead_time_mean_days: more than 0 days, unless it is fixed" CHECK (lead_time_distribution = 'fixed' OR lead_time_mean_days > 0),
	CONSTRAINT "to_day: after from_day, or both blank" CHECK ((from_day IS NULL) = (to_day IS NULL) AND (from_day IS NULL OR from_day < to_day))
) STRICT, WITHOUT ROWID;

CREATE TABLE deliveries (
	position    INTEGER NOT NULL,
	code        TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	lane        TEXT REFERENCES lanes,
	material    TEXT NOT NULL REFERENCES materials,
	mass_kg     REAL NOT NULL CONSTRAINT "mass_kg: more than 0" CHECK (mass_kg > 0 AND mass_kg < 9e999),
	ordered     TEXT CONSTRAINT "ordered: a day as YYYY-MM-DD" CHECK (ordered IS date(ordered)),
	eta         TEXT NOT NULL CONSTRAINT "eta: a day as YYYY-MM-DD" CHECK (eta IS date(eta)),
	spread_days REAL NOT NULL CONSTRAINT "spread_days: 0 or more" CHECK (spread_days >= 0 AND spread_days < 9e999),
	status      TEXT NOT NULL CONSTRAINT "status: ordered, afloat, at port, on the road, received, rejected" CHECK (status IN ('ordered', 'afloat', 'at port', 'on the road', 'received', 'rejected')),
	late        INTEGER NOT NULL CHECK (late IN (0, 1)),
	note        TEXT NOT NULL,
	CONSTRAINT "eta: the day of the order or later" CHECK (ordered IS NULL OR ordered <= eta)
) STRICT, WITHOUT ROWID;

CREATE TABLE lots (
	position INTEGER NOT NULL,
	code     TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	material TEXT NOT NULL REFERENCES materials,
	supplier TEXT REFERENCES suppliers,
	mass_kg  REAL NOT NULL CONSTRAINT "mass_kg: 0 or more" CHECK (mass_kg >= 0 AND mass_kg < 9e999),
	received TEXT CONSTRAINT "received: a day as YYYY-MM-DD" CHECK (received IS date(received)),
	hold     INTEGER NOT NULL CHECK (hold IN (0, 1)),
	reason   TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE stock (
	position INTEGER NOT NULL,
	kind     TEXT NOT NULL CONSTRAINT "kind: pellets, regrind, profile" CHECK (kind IN ('pellets', 'regrind', 'profile')),
	code     TEXT NOT NULL,
	mass_kg  REAL NOT NULL CONSTRAINT "mass_kg: 0 or more" CHECK (mass_kg >= 0 AND mass_kg < 9e999),
	length_m REAL NOT NULL CONSTRAINT "length_m: 0 or more" CHECK (length_m >= 0 AND length_m < 9e999),
	grade    TEXT GENERATED ALWAYS AS (CASE kind WHEN 'profile' THEN NULL ELSE code END) STORED REFERENCES grades,
	profile  TEXT GENERATED ALWAYS AS (CASE kind WHEN 'profile' THEN code END) STORED REFERENCES profiles,
	PRIMARY KEY (kind, code),
	CONSTRAINT "mass_kg: 0 for a profile, which is counted in metres" CHECK (kind <> 'profile' OR mass_kg = 0),
	CONSTRAINT "length_m: 0 for pellets and regrind, which are weighed" CHECK (kind = 'profile' OR length_m = 0)
) STRICT, WITHOUT ROWID;

CREATE TABLE orders (
	position  INTEGER NOT NULL,
	code      TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	customer  TEXT NOT NULL,
	profile   TEXT NOT NULL REFERENCES profiles,
	length_m  REAL NOT NULL CONSTRAINT "length_m: 0 or more" CHECK (length_m >= 0 AND length_m < 9e999),
	due       TEXT NOT NULL CONSTRAINT "due: a day as YYYY-MM-DD" CHECK (due IS date(due)),
	priority  INTEGER NOT NULL CONSTRAINT "priority: 1 to 9" CHECK (priority BETWEEN 1 AND 9),
	price_a_m REAL NOT NULL CONSTRAINT "price_a_m: 0 or more" CHECK (price_a_m >= 0 AND price_a_m < 9e999)
) STRICT, WITHOUT ROWID;

CREATE TABLE forecast (
	position INTEGER NOT NULL,
	profile  TEXT NOT NULL REFERENCES profiles,
	from_day TEXT NOT NULL CONSTRAINT "from_day: a day as YYYY-MM-DD" CHECK (from_day IS date(from_day)),
	to_day   TEXT NOT NULL CONSTRAINT "to_day: a day as YYYY-MM-DD" CHECK (to_day IS date(to_day)),
	length_m REAL NOT NULL CONSTRAINT "length_m: 0 or more" CHECK (length_m >= 0 AND length_m < 9e999),
	PRIMARY KEY (profile, from_day),
	CONSTRAINT "to_day: after from_day" CHECK (from_day < to_day)
) STRICT, WITHOUT ROWID;

CREATE TABLE pins (
	position INTEGER NOT NULL,
	code     TEXT NOT NULL PRIMARY KEY CONSTRAINT "code: anything but blank" CHECK (trim(code, char(9, 10, 13, 32)) <> ''),
	kind     TEXT NOT NULL CONSTRAINT "kind: run, idle, forbid" CHECK (kind IN ('run', 'idle', 'forbid')),
	line     TEXT NOT NULL REFERENCES lines,
	profile  TEXT REFERENCES profiles,
	from_day TEXT NOT NULL CONSTRAINT "from_day: a day as YYYY-MM-DD" CHECK (from_day IS date(from_day)),
	to_day   TEXT NOT NULL CONSTRAINT "to_day: a day as YYYY-MM-DD" CHECK (to_day IS date(to_day)),
	note     TEXT NOT NULL,
	CONSTRAINT "to_day: after from_day" CHECK (from_day < to_day),
	CONSTRAINT "profile: blank for idle, a profile for forbid" CHECK (kind = 'run' OR (kind = 'idle') = (profile IS NULL))
) STRICT, WITHOUT ROWID;

-- The body is a document of its own version; objective, bound and gap are for lists, and null where they are no number.
CREATE TABLE plans (
	id            INTEGER PRIMARY KEY AUTOINCREMENT,
	saved_at      TEXT NOT NULL, -- RFC 3339, UTC
	input_version INTEGER REFERENCES revisions,
	start_day     TEXT NOT NULL CHECK (start_day IS date(start_day)),
	buckets       INTEGER NOT NULL,
	stop          TEXT NOT NULL,
	objective     REAL,
	bound         REAL,
	gap           REAL,
	note          TEXT NOT NULL,
	options       TEXT CHECK (options IS NULL OR json_valid(options)),
	body          TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TABLE releases (
	id   INTEGER PRIMARY KEY AUTOINCREMENT,
	plan INTEGER NOT NULL REFERENCES plans,
	at   TEXT NOT NULL, -- RFC 3339, UTC
	who  TEXT NOT NULL
) STRICT;
