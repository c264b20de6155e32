package book

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// JobState is how a job of the watch stands.
type JobState struct {
	Name    string
	Dealt   time.Time // runs that were due up to then are dealt with
	Started time.Time // of the last run; zero if it never ran
	Ended   time.Time // zero while it runs, or if it was cut off
	Outcome string    // done, failed, skipped or stopped; "" while it runs or if it never ran
	Word    string    // what the run said
}

// Job is the state of a job; ok is false if none is kept.
func (b *Book) Job(ctx context.Context, name string) (j JobState, ok bool, err error) {
	j.Name = name
	err = b.read(ctx, func(tx *sql.Tx) error {
		var dealt, started, ended string
		err := tx.QueryRowContext(ctx, "SELECT dealt, started, ended, outcome, word FROM jobs WHERE name = ?", name).Scan(&dealt, &started, &ended, &j.Outcome, &j.Word)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		ok = true
		return parseTimes([]string{dealt, started, ended}, &j.Dealt, &j.Started, &j.Ended)
	})
	return j, ok, err
}

// parseTimes reads values of stamp.
func parseTimes(texts []string, to ...*time.Time) error {
	for i, s := range texts {
		if s == "" {
			continue
		}
		t, err := parseNow(s)
		if err != nil {
			return err
		}
		*to[i] = t
	}
	return nil
}

// stamp is a time as the book stores it, "" for the zero time.
func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

// KeepJob keeps the state of a job.
func (b *Book) KeepJob(ctx context.Context, j JobState) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightWatch); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO jobs (name, dealt, started, ended, outcome, word) VALUES (?, ?, ?, ?, ?, ?)
			ON CONFLICT DO UPDATE SET dealt = excluded.dealt, started = excluded.started, ended = excluded.ended, outcome = excluded.outcome, word = excluded.word`,
			j.Name, stamp(j.Dealt), stamp(j.Started), stamp(j.Ended), j.Outcome, j.Word)
		return err
	})
}
