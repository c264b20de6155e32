package book

import (
	"context"
	"database/sql"
	"time"

	"feedline/lines/calendar"
)

// Deed is something that somebody did to the book beside changing its records: saved or released a plan, acknowledged an alert,
// gave a role, restored a copy.
type Deed struct {
	At      time.Time
	Who     string
	Deed    string // such as "plan released"
	Subject string // such as the plan's number
	Word    string // anything more
}

// did enters a deed of the book's user.
func (b *Book) did(ctx context.Context, tx *sql.Tx, deed, subject, word string) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO deeds (at, who, deed, subject, word) VALUES (?, ?, ?, ?, ?)", b.now(), b.actor.Name, deed, subject, word)
	return err
}

// Deeds lists what was done, oldest first.
func (b *Book) Deeds(ctx context.Context) (all []Deed, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.QueryContext(ctx, "SELECT at, who, deed, subject, word FROM deeds ORDER BY id")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var d Deed
			var at string
			if err := rows.Scan(&at, &d.Who, &d.Deed, &d.Subject, &d.Word); err != nil {
				return err
			}
			if d.At, err = parseNow(at); err != nil {
				return err
			}
			all = append(all, d)
		}
		return rows.Err()
	})
	return all, err
}

// Version is the version of the book's records.
func (b *Book) Version(ctx context.Context) (v Version, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		v, err = currentVersion(ctx, tx)
		return err
	})
	return v, err
}

// PlannedVersion is the version of the records that the last plan was made from, or the newest at which they say the same; 0 if there is no plan.
func (b *Book) PlannedVersion(ctx context.Context) (v Version, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, "SELECT coalesce((SELECT input_version FROM plans ORDER BY id DESC LIMIT 1), 0)").Scan(&v); err != nil {
			return err
		}
		v, err = latestSame(ctx, tx, v)
		return err
	})
	return v, err
}

// FirstETAs is the day that each delivery was expected on when it was entered, by code.
func (b *Book) FirstETAs(ctx context.Context) (first map[string]calendar.Day, err error) {
	first = map[string]calendar.Day{}
	err = b.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.QueryContext(ctx, `SELECT key, after ->> 'eta' FROM changes WHERE table_name = 'deliveries' AND before IS NULL AND after IS NOT NULL ORDER BY id`)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var key, eta string
			if err := rows.Scan(&key, &eta); err != nil {
				return err
			}
			if first[key], err = calendar.ParseDay(eta); err != nil { // of one that was taken out and entered again the last entry counts
				return damaged("delivery %s: %v", key, err)
			}
		}
		return rows.Err()
	})
	return first, err
}
