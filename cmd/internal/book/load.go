package book

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"feedline/planner"
)

// Version counts the changes of a book's records: it grows by one with every Save that changed something. It is never 0.
type Version int64

// Load reads all records as they are at one moment, and their version. Rows come in the order they were saved in; empty lists are
// nil. Whether a plan can be made of them is for planner.Input.Check.
func (b *Book) Load(ctx context.Context) (in *planner.Input, v Version, err error) {
	in = &planner.Input{}
	err = b.read(ctx, func(tx *sql.Tx) error {
		if v, err = currentVersion(ctx, tx); err != nil {
			return err
		}
		return load(ctx, tx, in)
	})
	if err != nil {
		return nil, 0, err
	}
	return in, v, nil
}

func load(ctx context.Context, tx *sql.Tx, in *planner.Input) error {
	for _, t := range tables {
		rows, err := t.read(ctx, tx)
		if err != nil {
			return err
		}
		values := make([][]any, len(rows))
		for i, r := range rows {
			values[i] = r.values
		}
		if err := t.fill(in, values); err != nil {
			return err
		}
	}
	return nil
}

func currentVersion(ctx context.Context, tx *sql.Tx) (Version, error) {
	var v sql.Null[int64]
	err := tx.QueryRowContext(ctx, "SELECT max(version) FROM revisions").Scan(&v)
	return Version(v.V), err
}

// Zone is the plant's time zone; UTC if the plant has none yet.
func (b *Book) Zone(ctx context.Context) (zone *time.Location, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		var name string
		if err := tx.QueryRowContext(ctx, "SELECT zone FROM plant").Scan(&name); err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if zone, err = time.LoadLocation(name); err != nil {
			return damaged("plant: zone %q, which is no time zone", name)
		}
		return nil
	})
	return zone, err
}

// Revision is what was said of a change when it was saved.
type Revision struct {
	Version Version
	At      time.Time
	Who     string
	Note    string
}

// Change is a row that a revision entered, changed or took out. Rows are JSON objects by column.
type Change struct {
	Revision
	Table, Key    string // as in planner.Problem
	Before, After string // "" where there was none; both "" where only the order of the table's rows changed
}

// Changes lists what was changed after a version, oldest first; 0 lists all.
func (b *Book) Changes(ctx context.Context, after Version) (all []Change, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.QueryContext(ctx, `SELECT r.version, r.at, r.who, r.note, c.table_name, c.key, coalesce(c.before, ''), coalesce(c.after, '')
			FROM changes c JOIN revisions r USING (version) WHERE version > ? ORDER BY c.id`, after)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var c Change
			var at string
			if err := rows.Scan(&c.Version, &at, &c.Who, &c.Note, &c.Table, &c.Key, &c.Before, &c.After); err != nil {
				return err
			}
			if c.At, err = parseNow(at); err != nil {
				return err
			}
			all = append(all, c)
		}
		return rows.Err()
	})
	return all, err
}

// revision is a version's entry.
func revision(ctx context.Context, tx *sql.Tx, v Version) (r Revision, err error) {
	var at string
	err = tx.QueryRowContext(ctx, "SELECT version, at, who, note FROM revisions WHERE version = ?", v).Scan(&r.Version, &at, &r.Who, &r.Note)
	if errors.Is(err, sql.ErrNoRows) {
		return Revision{Version: v}, nil
	}
	if err == nil {
		r.At, err = parseNow(at)
	}
	return r, err
}
