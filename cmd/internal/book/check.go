package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/planner"
)

// CheckReport is what Check finds.
type CheckReport struct {
	Path      string
	Schema    int // version of the schema
	Version   Version
	Wrong     []string // nothing if the book is whole
	Derived   []string // derived data that do not agree with what they are derived from: Rebuild mends them
	Rows      int      // of the records
	Revisions int
	Changes   int
	Plans     int
	Entries   int // of records of receipts, runs and counts
	Alerts    int
	Deeds     int
}

// OK reports whether the book is whole.
func (r CheckReport) OK() bool { return len(r.Wrong) == 0 && len(r.Derived) == 0 }

// Check proves a book whole without changing it: the file's structure and references, that every table can be read, that the log of
// changes leads from nothing to exactly the rows there are, that every plan can be read and agrees with its heading. A file that is no book is an
// *OpenError; whatever is wrong within one is in the report.
func Check(ctx context.Context, path string) (CheckReport, error) {
	r := CheckReport{Path: path}
	latest := schema().latest()
	v, err := probe(path, latest)
	if err != nil {
		if errors.Is(err, ErrDamaged) {
			r.Wrong = append(r.Wrong, err.Error())
			return r, nil
		}
		return r, err
	}
	r.Schema = v
	wrong, err := soundness(ctx, path, -1)
	if err != nil && !errors.Is(err, ErrDamaged) {
		return r, err
	}
	if err != nil {
		wrong = append(wrong, err.Error())
	}
	r.Wrong = append(r.Wrong, wrong...)
	if len(r.Wrong) > 0 {
		return r, nil
	}
	if v < latest {
		r.Derived = append(r.Derived, fmt.Sprintf("the book is of version %d, this feedline's is %d: opening it brings it up to date", v, latest))
		return r, nil
	}
	db, err := connect(path)
	if err != nil {
		return r, openTrouble(path, err)
	}
	b := &Book{path, db, nil, Me()}
	defer b.Close()
	err = b.read(ctx, func(tx *sql.Tx) error { return r.look(ctx, tx) })
	if err != nil && errors.Is(err, ErrDamaged) {
		r.Wrong = append(r.Wrong, err.Error())
		return r, nil
	}
	return r, err
}

// look looks at everything in one state of the book.
func (r *CheckReport) look(ctx context.Context, tx *sql.Tx) (err error) {
	for _, f := range []func(context.Context, *sql.Tx) error{r.counts, r.references, r.trail, r.plans, r.documents} {
		if err := f(ctx, tx); err != nil {
			return err
		}
	}
	return nil
}

func (r *CheckReport) counts(ctx context.Context, tx *sql.Tx) (err error) {
	if r.Version, err = currentVersion(ctx, tx); err != nil {
		return err
	}
	var first, gaps int
	err = tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM revisions), (SELECT count(*) FROM changes), (SELECT count(*) FROM plans),
		(SELECT count(*) FROM alerts), (SELECT count(*) FROM deeds), (SELECT count(*) FROM entries),
		(SELECT count(*) FROM revisions r WHERE NOT EXISTS (SELECT 1 FROM changes c WHERE c.version = r.version) AND note NOT LIKE 'restored from %'
			AND NOT EXISTS (SELECT 1 FROM entries e WHERE e.version = r.version)),
		(SELECT coalesce(min(version), 0) FROM revisions)`).Scan(&r.Revisions, &r.Changes, &r.Plans, &r.Alerts, &r.Deeds, &r.Entries, &gaps, &first)
	if err != nil {
		return err
	}
	if gaps > 0 {
		r.Wrong = append(r.Wrong, fmt.Sprintf("%d revisions changed nothing", gaps))
	}
	return nil
}

func (r *CheckReport) references(ctx context.Context, tx *sql.Tx) error {
	rows, err := tx.QueryContext(ctx, `SELECT "table", coalesce(rowid, 0), parent FROM pragma_foreign_key_check LIMIT 20`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var table, parent string
		var id int64
		if err := rows.Scan(&table, &id, &parent); err != nil {
			return err
		}
		r.Wrong = append(r.Wrong, fmt.Sprintf("a row of %s names one of %s that is not there", table, parent))
	}
	return rows.Err()
}

// trail replays the log of changes and holds what comes of it against the rows there are.
func (r *CheckReport) trail(ctx context.Context, tx *sql.Tx) error {
	want, err := replay(ctx, tx)
	if err != nil {
		return err
	}
	var in planner.Input
	for _, t := range tables {
		have, err := t.read(ctx, tx)
		if err != nil {
			return err
		}
		r.Rows += len(have)
		values := make([][]any, len(have))
		for i, row := range have {
			values[i] = row.values
			key := t.shownKey(row.values)
			logged, known := want[t.name][key]
			delete(want[t.name], key)
			if !known {
				r.Wrong = append(r.Wrong, fmt.Sprintf("%s %s: the row is not in the log of changes", t.name, key))
				continue
			}
			text, _ := t.json(row.values).(string)
			if d, err := differs(logged, text); err != nil || d != "" {
				r.Wrong = append(r.Wrong, fmt.Sprintf("%s %s: %s is not what the log of changes says", t.name, key, d))
			}
		}
		for key := range want[t.name] {
			r.Wrong = append(r.Wrong, fmt.Sprintf("%s %s: the log of changes has a row that is not there", t.name, key))
		}
		if err := t.fill(&in, values); err != nil {
			return err
		}
		if len(r.Wrong) > 20 {
			return nil
		}
	}
	return nil
}

// replay is the rows that the log of changes leads to, as JSON by table and key.
func replay(ctx context.Context, tx *sql.Tx) (map[string]map[string]string, error) {
	rows, err := tx.QueryContext(ctx, "SELECT table_name, key, coalesce(before, ''), coalesce(after, '') FROM changes ORDER BY id")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	state := map[string]map[string]string{}
	for rows.Next() {
		var table, key, before, after string
		if err := rows.Scan(&table, &key, &before, &after); err != nil {
			return nil, err
		}
		if state[table] == nil {
			state[table] = map[string]string{}
		}
		switch {
		case before == "" && after == "": // the order alone
		case after == "":
			delete(state[table], key)
		default:
			state[table][key] = after
		}
	}
	return state, rows.Err()
}

// differs names a column of a logged row that the row there is has otherwise; columns that came later are passed over.
func differs(logged, row string) (column string, err error) {
	var was, is map[string]json.RawMessage
	if err := errors.Join(json.Unmarshal([]byte(logged), &was), json.Unmarshal([]byte(row), &is)); err != nil {
		return "the row", err
	}
	var bad []string
	for c, v := range was {
		if now, known := is[c]; known && string(now) != string(v) {
			bad = append(bad, c)
		}
	}
	slices.Sort(bad)
	return strings.Join(bad, ", "), nil
}

// plans reads every plan and holds its heading against it.
func (r *CheckReport) plans(ctx context.Context, tx *sql.Tx) error {
	return eachPlan(ctx, tx, func(h PlanHead, p *planner.Plan, err error) error {
		if err != nil {
			r.Wrong = append(r.Wrong, fmt.Sprintf("plan %d can't be read: %v", h.ID, err))
			return nil
		}
		if !headAgrees(h, p) {
			r.Derived = append(r.Derived, fmt.Sprintf("plan %d: its heading does not agree with it", h.ID))
		}
		if h.Input > r.Version {
			r.Wrong = append(r.Wrong, fmt.Sprintf("plan %d is of version %d of the records, which is not there", h.ID, h.Input))
		}
		return nil
	})
}

func eachPlan(ctx context.Context, tx *sql.Tx, f func(PlanHead, *planner.Plan, error) error) error {
	rows, err := tx.QueryContext(ctx, "SELECT "+headColumns+", p.body"+plansReleased+" ORDER BY p.id")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var body string
		h, err := scanHead(rows.Scan, &body)
		if err != nil {
			return err
		}
		p, err := decodePlan(body)
		if err := f(h, p, err); err != nil {
			return err
		}
	}
	return rows.Err()
}

func headAgrees(h PlanHead, p *planner.Plan) bool {
	same := func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
	return h.Start == p.Start && h.Buckets == len(p.Buckets) && h.Stop == p.Stop.String() &&
		same(h.Objective, float64(p.Objective)) && same(h.Bound, float64(p.Bound)) && same(h.Gap, p.Gap)
}

// documents looks whether alerts and messages can be read.
func (r *CheckReport) documents(ctx context.Context, tx *sql.Tx) error {
	var bad int
	err := tx.QueryRowContext(ctx, "SELECT (SELECT count(*) FROM alerts WHERE NOT json_valid(body)) + (SELECT count(*) FROM outbox WHERE NOT json_valid(body))").Scan(&bad)
	if bad > 0 {
		r.Wrong = append(r.Wrong, fmt.Sprintf("%d alerts or messages can't be read", bad))
	}
	return err
}

// Rebuild makes what is derived anew: the headings of plans and the indexes. It returns how many headings it corrected.
func (b *Book) Rebuild(ctx context.Context) (corrected int, err error) {
	err = b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightRestore); err != nil {
			return err
		}
		type heading struct {
			id int64
			p  *planner.Plan
		}
		var wrong []heading
		if err := eachPlan(ctx, tx, func(h PlanHead, p *planner.Plan, err error) error {
			if err == nil && !headAgrees(h, p) {
				wrong = append(wrong, heading{h.ID, p})
			}
			return nil
		}); err != nil {
			return err
		}
		for _, h := range wrong {
			if _, err := tx.ExecContext(ctx, "UPDATE plans SET start_day = ?, buckets = ?, stop = ?, objective = ?, bound = ?, gap = ? WHERE id = ?", h.p.Start.String(), len(h.p.Buckets),
				h.p.Stop.String(), figure(float64(h.p.Objective)), figure(float64(h.p.Bound)), figure(h.p.Gap), h.id); err != nil {
				return err
			}
		}
		if corrected = len(wrong); corrected > 0 {
			if err := b.did(ctx, tx, "rebuilt", fmt.Sprint(corrected, " headings of plans"), ""); err != nil {
				return err
			}
		}
		_, err := tx.ExecContext(ctx, "REINDEX")
		return err
	})
	return corrected, err
}
