package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// ErrNoEntry is returned when the book has no entry of a number.
var ErrNoEntry = errors.New("the book has no such entry")

// store writes what the records did to the input, and the entries.
func (r *recording) store() error {
	if len(r.fresh) == 0 {
		return nil
	}
	if r.opt.Note == "" {
		r.opt.Note = "record " + summary(r.fresh)
	}
	if !r.history {
		r.want = nil
		if err := r.wanted(r.ledger.Input()); err != nil {
			return err
		}
		r.opt.Expect = 0
		version := r.version
		if err := r.saving.run(); err != nil {
			return err
		}
		r.version = max(r.version, version)
	}
	if err := r.revise(); err != nil {
		return err
	}
	return r.insertAll()
}

// summary is what was recorded, for the log.
func summary(list []records.Entry) string {
	if len(list) == 1 {
		h := list[0].Head
		return strings.TrimSpace(string(h.Kind) + " " + h.Code)
	}
	count := map[records.Kind]int{}
	for _, x := range list {
		count[x.Head.Kind]++
	}
	var parts []string
	for _, k := range records.Kinds {
		if n := count[k]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s ×%d", k, n))
		}
	}
	return strings.Join(parts, ", ")
}

// batch gathers rows of a table and inserts so many at once as one statement may have values.
type batch struct {
	tx    *sql.Tx
	ctx   context.Context
	head  string // INSERT INTO t (…)
	width int
	args  []any
	full  *sql.Stmt
}

// batchRows is the rows of a full statement: about what the wider tables gain most from.
const batchRows = 32

func (b *batch) add(row ...any) error {
	b.width = len(row)
	b.args = append(b.args, row...)
	if len(b.args) < batchRows*b.width {
		return nil
	}
	if b.full == nil {
		s, err := b.tx.PrepareContext(b.ctx, b.query(batchRows))
		if err != nil {
			return err
		}
		b.full = s
	}
	_, err := b.full.ExecContext(b.ctx, b.args...)
	b.args = b.args[:0]
	return err
}

func (b *batch) query(rows int) string {
	one := "(?" + strings.Repeat(", ?", b.width-1) + ")"
	return b.head + " VALUES " + one + strings.Repeat(", "+one, rows-1)
}

// flush inserts what is left.
func (b *batch) flush() (err error) {
	if len(b.args) > 0 {
		_, err = b.tx.ExecContext(b.ctx, b.query(len(b.args)/b.width), b.args...)
	}
	if b.full != nil {
		err = errors.Join(err, b.full.Close())
	}
	return err
}

// insertAll writes the fresh entries: first the entries, which the rest names.
func (r *recording) insertAll() error {
	entries := &batch{tx: r.tx, ctx: r.ctx, head: "INSERT INTO entries (id, version, at, who, kind, code, day, note, history, reverses)"}
	for _, e := range r.fresh {
		err := entries.add(e.ID, int64(r.version), r.at, e.Who, string(e.Head.Kind), e.Head.Code, e.Head.Day.String(), e.Head.Note, e.History,
			sql.Null[int64]{V: e.Reverses, Valid: e.Reverses != 0})
		if err != nil {
			return r.refusedEntry(err)
		}
	}
	if err := entries.flush(); err != nil {
		return r.refusedEntry(err)
	}
	moves := &batch{tx: r.tx, ctx: r.ctx, head: "INSERT INTO moves (entry, account, code, grams, millis)"}
	rows := map[records.Kind]*batch{}
	for _, e := range r.fresh {
		for _, m := range e.Moves {
			if err := moves.add(e.ID, string(m.Account), m.Code, m.Grams, m.Millis); err != nil {
				return err
			}
		}
		if e.Record == nil {
			continue
		}
		t := recordTableOf(e.Head.Kind)
		if rows[t.kind] == nil {
			rows[t.kind] = &batch{tx: r.tx, ctx: r.ctx, head: fmt.Sprintf(`INSERT INTO %s (entry, "%s")`, t.name, strings.Join(t.columns, `", "`))}
		}
		if err := rows[t.kind].add(append([]any{e.ID}, t.values(e.Record)...)...); err != nil {
			return r.refusedEntry(err)
		}
	}
	for _, b := range rows {
		if err := b.flush(); err != nil {
			return r.refusedEntry(err)
		}
	}
	return moves.flush()
}

// refusedEntry words what the schema refuses of a record and Check has let pass, such as a text with a zero byte.
func (r *recording) refusedEntry(err error) error {
	if d := detail(err, "CHECK constraint failed: "); d != "" && primary(err) >= 0 {
		return &RowError{Table: "entries", Value: "a record", Allowed: d}
	}
	return err
}

// standing picks entries that were not reversed; what stands before it is eachQuery.
const standing = " WHERE v.id IS NULL"

// each reads a kind's entries with their records, but not their moves, in the order they were entered.
func (t *recordTable) each(ctx context.Context, tx *sql.Tx, clause string, args []any, f func(records.Entry) error) error {
	rows, err := tx.QueryContext(ctx, "SELECT e.id, e.at, e.who, e.code, e.day, e.note, e.history, coalesce(v.id, 0), "+t.columnList("d")+
		" FROM entries e JOIN "+t.name+" d ON d.entry = e.id LEFT JOIN entries v ON v.reverses = e.id"+clause+" ORDER BY e.id", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	values := make([]any, len(t.columns))
	var e records.Entry
	var at, day string
	to := []any{&e.ID, &at, &e.Who, &e.Head.Code, &day, &e.Head.Note, &e.History, &e.ReversedBy}
	for j := range values {
		to = append(to, &values[j])
	}
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return err
		}
		e.Head.Kind = t.kind
		if e.At, err = parseNow(at); err != nil {
			return err
		}
		if e.Head.Day, err = calendar.ParseDay(day); err != nil {
			return damaged("entry %d: %v", e.ID, err)
		}
		if e.Record, err = t.record(e.Head, values); err != nil {
			return err
		}
		if err := f(e); err != nil {
			return err
		}
	}
	return rows.Err()
}

// entryByID is one entry with its record and moves.
func entryByID(ctx context.Context, tx *sql.Tx, id int64) (records.Entry, error) {
	var kind string
	var reverses int64
	err := tx.QueryRowContext(ctx, "SELECT kind, coalesce(reverses, 0) FROM entries WHERE id = ?", id).Scan(&kind, &reverses)
	if errors.Is(err, sql.ErrNoRows) {
		return records.Entry{}, fmt.Errorf("%w: %d", ErrNoEntry, id)
	}
	if err != nil {
		return records.Entry{}, err
	}
	found := records.Entry{ID: id, Reverses: reverses, Head: records.Head{Kind: records.Kind(kind)}}
	if reverses == 0 {
		err = recordTableOf(found.Head.Kind).each(ctx, tx, " WHERE e.id = ?", []any{id}, func(e records.Entry) error { found = e; return nil })
		if err != nil {
			return found, err
		}
	}
	one := map[int64]*records.Entry{id: &found}
	return found, addMoves(ctx, tx, one, " WHERE entry = ?", id)
}

// addMoves reads moves into their entries.
func addMoves(ctx context.Context, tx *sql.Tx, to map[int64]*records.Entry, clause string, args ...any) error {
	rows, err := tx.QueryContext(ctx, "SELECT entry, account, code, grams, millis FROM moves"+clause, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var m records.Move
		var account string
		if err := rows.Scan(&id, &account, &m.Code, &m.Grams, &m.Millis); err != nil {
			return err
		}
		m.Account = records.Account(account)
		if e := to[id]; e != nil {
			e.Moves = append(e.Moves, m)
		}
	}
	return rows.Err()
}

// Filter picks entries. The zero value picks all.
type Filter struct {
	Kinds    []records.Kind // none = all; reversals are picked by KindReversal or by all
	From, To calendar.Day   // of the day it happened, [From, To); 0 = no bound
	Standing bool           // leave out what was reversed, and reversals
	Moves    bool           // read moves too
}

// Entries lists entries in the order they were entered.
func (b *Book) Entries(ctx context.Context, f Filter) (all []records.Entry, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		all, err = entries(ctx, tx, f)
		return err
	})
	return all, err
}

// Entry is the entry with the number id, with its moves.
func (b *Book) Entry(ctx context.Context, id int64) (e records.Entry, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		e, err = entryByID(ctx, tx, id)
		return err
	})
	return e, err
}

// wanted makes the rows that a saving is to leave.
func (s *saving) wanted(in *planner.Input) error {
	if err := checkZone(in); err != nil {
		return err
	}
	for _, t := range tables {
		rows := t.rows(in)
		if err := t.check(rows); err != nil {
			return err
		}
		s.want = append(s.want, rows)
	}
	return nil
}
