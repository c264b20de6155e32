package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"feedline/lines/calendar"
	"feedline/planner"
)

// PlanMeta is what is known of a stored plan beside itself. For SavePlan only Input, Note and Options are looked at.
type PlanMeta struct {
	ID      int64
	Saved   time.Time
	Input   Version         // of the records that it was made from, or the newest at which they say the same; 0 = of none that were saved
	Note    string          // anything
	Options json.RawMessage // what was asked of the planner, as its caller writes it; nil if nothing

	// Of its latest release, if there was one.
	ReleasedAt time.Time
	ReleasedBy string
}

// Released reports whether the plan was ever released.
func (m PlanMeta) Released() bool { return !m.ReleasedAt.IsZero() }

// PlanHead is a stored plan in a list of them. Numbers are NaN where the plan has none.
type PlanHead struct {
	PlanMeta
	Start     calendar.Day
	Buckets   int
	Stop      string // why the solver stopped, in words
	Objective float64
	Bound     float64
	Gap       float64
}

// SavePlan adds a plan to the book and returns its number.
func (b *Book) SavePlan(ctx context.Context, p *planner.Plan, m PlanMeta) (id int64, err error) {
	body, err := encodePlan(p)
	if err != nil {
		return 0, fmt.Errorf("store the plan: %w", err)
	}
	var options any
	if m.Options != nil {
		if !json.Valid(m.Options) {
			return 0, errors.New("store the plan: its options are no JSON")
		}
		options = string(m.Options)
	}
	input := sql.Null[int64]{V: int64(m.Input), Valid: m.Input != 0}
	err = b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightPlan); err != nil {
			return err
		}
		res, err := tx.ExecContext(ctx, `INSERT INTO plans (saved_at, input_version, start_day, buckets, stop, objective, bound, gap, note, options, body)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, b.now(), input, p.Start.String(), len(p.Buckets), p.Stop.String(),
			figure(float64(p.Objective)), figure(float64(p.Bound)), figure(p.Gap), m.Note, options, body)
		if err != nil {
			return err
		}
		if id, err = res.LastInsertId(); err != nil {
			return err
		}
		return b.did(ctx, tx, "plan saved", fmt.Sprint("plan ", id), m.Note)
	})
	return id, err
}

// figure is a number as a column holds it: null for what is none.
func figure(x float64) any {
	if math.IsNaN(x) {
		return nil
	}
	return x
}

// headColumns are a plan's columns but for its body, with the latest release.
const headColumns = `p.id, p.saved_at, coalesce(p.input_version, 0), p.start_day, p.buckets, p.stop, p.objective, p.bound, p.gap, p.note, p.options, r.at, r.who`

// plansReleased joins plans p with their latest releases r.
const plansReleased = ` FROM plans p LEFT JOIN releases r ON r.id = (SELECT max(id) FROM releases WHERE plan = p.id)`

// scanHead reads headColumns, and more columns behind them.
func scanHead(scan func(...any) error, more ...any) (h PlanHead, err error) {
	var saved, start string
	var options, at, who sql.Null[string]
	var objective, bound, gap sql.Null[float64]
	to := []any{&h.ID, &saved, &h.Input, &start, &h.Buckets, &h.Stop, &objective, &bound, &gap, &h.Note, &options, &at, &who}
	if err := scan(append(to, more...)...); err != nil {
		return h, err
	}
	h.Objective, h.Bound, h.Gap = orNaN(objective), orNaN(bound), orNaN(gap)
	h.ReleasedBy = who.V
	if options.Valid {
		h.Options = json.RawMessage(options.V)
	}
	if h.Start, err = calendar.ParseDay(start); err != nil {
		return h, damaged("plan %d: %v", h.ID, err)
	}
	if h.Saved, err = parseNow(saved); err == nil && at.Valid {
		h.ReleasedAt, err = parseNow(at.V)
	}
	return h, err
}

func orNaN(x sql.Null[float64]) float64 {
	if !x.Valid {
		return math.NaN()
	}
	return x.V
}

// latestSame is the version of the records now if they say what they said at v, else v: a restored copy says at a version of its own what it
// said before, and so does a book in which all that was done since was taken back.
func latestSame(ctx context.Context, tx *sql.Tx, v Version) (Version, error) {
	now, err := currentVersion(ctx, tx)
	if err != nil || v == 0 || v >= now {
		return v, err
	}
	var changed bool
	err = tx.QueryRowContext(ctx, `WITH
		since AS (SELECT * FROM changes WHERE version > ?1),
		ends AS (SELECT min(id) AS first, max(id) AS last FROM since GROUP BY table_name, key)
		SELECT EXISTS (SELECT 1 FROM since WHERE before IS NULL AND after IS NULL)
			OR EXISTS (SELECT 1 FROM ends JOIN since f ON f.id = first JOIN since l ON l.id = last WHERE f.before IS NOT l.after)
			OR EXISTS (SELECT 1 FROM entries e LEFT JOIN entries r ON r.reverses = e.id WHERE e.version > ?1 AND e.reverses IS NULL AND r.id IS NULL)
			OR EXISTS (SELECT 1 FROM entries r JOIN entries e ON e.id = r.reverses WHERE r.version > ?1 AND e.version <= ?1)`, v).Scan(&changed)
	if err != nil || changed {
		return v, err
	}
	return now, nil
}

// Plans lists the stored plans, newest first; Input is the version that each was made from.
func (b *Book) Plans(ctx context.Context) (all []PlanHead, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.QueryContext(ctx, "SELECT "+headColumns+plansReleased+" ORDER BY p.id DESC")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			h, err := scanHead(rows.Scan)
			if err != nil {
				return err
			}
			all = append(all, h)
		}
		return rows.Err()
	})
	return all, err
}

// LastPlan is the plan saved last; the error is ErrNoPlan if there is none.
func (b *Book) LastPlan(ctx context.Context) (*planner.Plan, PlanMeta, error) {
	return b.onePlan(ctx, ErrNoPlan, "ORDER BY p.id DESC LIMIT 1")
}

// Plan is the plan with the number id; the error is ErrNoPlan, with the number, if there is none.
func (b *Book) Plan(ctx context.Context, id int64) (*planner.Plan, PlanMeta, error) {
	return b.onePlan(ctx, noSuchPlan(id), "WHERE p.id = ?", id)
}

func noSuchPlan(id int64) error { return fmt.Errorf("%w with the number %d", ErrNoPlan, id) }

// Released is the plan released last, the promise; the error is ErrNotReleased if there is none.
func (b *Book) Released(ctx context.Context) (*planner.Plan, PlanMeta, error) {
	return b.onePlan(ctx, ErrNotReleased, "WHERE r.id = (SELECT max(id) FROM releases)")
}

// ThinPlans takes out plans of a note that begins with prefix, saved longer ago than age, and their forecasts, but for the last of each day and
// those that were ever released, and returns how many. The log still tells that they were saved.
func (b *Book) ThinPlans(ctx context.Context, prefix string, age time.Duration) (n int64, err error) {
	err = b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightPlan); err != nil {
			return err
		}
		const old = `SELECT id FROM plans p WHERE saved_at < ?1 AND substr(note, 1, length(?2)) = ?2
			AND NOT EXISTS (SELECT 1 FROM releases WHERE plan = p.id)
			AND EXISTS (SELECT 1 FROM plans q WHERE q.id > p.id AND substr(q.saved_at, 1, 10) = substr(p.saved_at, 1, 10))`
		before := b.clock().UTC().Add(-age).Format(time.RFC3339Nano)
		if _, err := tx.ExecContext(ctx, "DELETE FROM forecasts WHERE plan IN ("+old+")", before, prefix); err != nil {
			return err
		}
		res, err := tx.ExecContext(ctx, "DELETE FROM plans WHERE id IN ("+old+")", before, prefix)
		if err != nil {
			return err
		}
		if n, err = res.RowsAffected(); err != nil || n == 0 {
			return err
		}
		return b.did(ctx, tx, "plans taken out", fmt.Sprint(n, " plans"), "of before "+before[:len("2006-01-02")])
	})
	return n, err
}

// Promise is a release of a plan: it is the promise until the next.
type Promise struct {
	Plan  int64
	At    time.Time
	Start calendar.Day // of the plan
}

// Promises lists all releases in their order.
func (b *Book) Promises(ctx context.Context) (all []Promise, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.QueryContext(ctx, "SELECT r.plan, r.at, p.start_day FROM releases r JOIN plans p ON p.id = r.plan ORDER BY r.id")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var x Promise
			var at, start string
			if err := rows.Scan(&x.Plan, &at, &start); err != nil {
				return err
			}
			if x.At, err = parseNow(at); err != nil {
				return err
			}
			if x.Start, err = calendar.ParseDay(start); err != nil {
				return damaged("plan %d: %v", x.Plan, err)
			}
			all = append(all, x)
		}
		return rows.Err()
	})
	return all, err
}

// onePlan is the plan that the clause picks, none if there is none.
func (b *Book) onePlan(ctx context.Context, none error, clause string, args ...any) (p *planner.Plan, m PlanMeta, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		var body string
		h, err := scanHead(tx.QueryRowContext(ctx, "SELECT "+headColumns+", p.body"+plansReleased+" "+clause, args...).Scan, &body)
		if errors.Is(err, sql.ErrNoRows) {
			return none
		}
		if err != nil {
			return err
		}
		m = h.PlanMeta
		if m.Input, err = latestSame(ctx, tx, m.Input); err != nil {
			return err
		}
		p, err = decodePlan(body)
		return err
	})
	return p, m, err
}

// Release makes the plan with the number id the promise; who is kept with it. The error is ErrNoPlan if there is no such plan.
func (b *Book) Release(ctx context.Context, id int64, who string) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightRelease); err != nil {
			return err
		}
		var n int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM plans WHERE id = ?", id).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return noSuchPlan(id)
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO releases (plan, at, who) VALUES (?, ?, ?)", id, b.now(), who)
		if err != nil {
			return err
		}
		return b.did(ctx, tx, "plan released", fmt.Sprint("plan ", id), "")
	})
}
