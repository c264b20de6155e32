package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"

	"feedline/planner"
)

// SaveOptions say who saves and why, for the log.
type SaveOptions struct {
	Who  string // "" = the operating system's user
	Note string
	// Expect is the version that the input was loaded at; if the book has another by now, Save refuses with a *StaleError. 0 overwrites.
	Expect Version
}

// Save makes the book's records equal to in, in one transaction, and returns their version. Rows are told apart by their keys; those
// that are the same already are not touched, and if all are, nothing is written and the version stays. A row that the book can't
// hold is refused with a *RowError, and then nothing is saved. in is not changed.
func (b *Book) Save(ctx context.Context, in *planner.Input, opt SaveOptions) (v Version, err error) {
	if opt.Who == "" {
		opt.Who = b.actor.Name
	}
	s := &saving{ctx: ctx, opt: opt, at: b.now(), may: b.may, checked: map[Right]bool{}}
	if err := s.wanted(in); err != nil {
		return 0, err
	}
	err = b.write(ctx, func(tx *sql.Tx) error {
		s.tx = tx
		return s.run()
	})
	if err != nil {
		return 0, err
	}
	return s.version, nil
}

// saving is one run of Save.
type saving struct {
	ctx     context.Context
	tx      *sql.Tx
	opt     SaveOptions
	at      string
	want    [][]row // rows to be, by table in their order
	version Version
	entered bool // whether version is this saving's own
	may     func(context.Context, *sql.Tx, Right) error
	checked map[Right]bool // rights that the saver is known to have
}

// run enters and changes rows, tables that are named by others first, and then takes rows out in the reverse order: so every
// code is there while a row names it.
func (s *saving) run() error {
	if err := s.checkVersion(); err != nil {
		return err
	}
	gone := make([][]stored, len(tables))
	for i, t := range tables {
		have, err := t.read(s.ctx, s.tx)
		if err != nil {
			return err
		}
		if gone[i], err = s.enter(t, have, s.want[i]); err != nil {
			return err
		}
	}
	for i := len(tables) - 1; i >= 0; i-- {
		if err := s.takeOut(tables[i], gone[i]); err != nil {
			return err
		}
	}
	return nil
}

func (s *saving) checkVersion() (err error) {
	if s.version, err = currentVersion(s.ctx, s.tx); err != nil {
		return err
	}
	if s.opt.Expect == 0 || s.opt.Expect == s.version {
		return nil
	}
	last, err := revision(s.ctx, s.tx, s.version)
	if err != nil {
		return err
	}
	return &StaleError{Expect: s.opt.Expect, Now: s.version, Who: last.Who, At: last.At, Note: last.Note}
}

// enter inserts and updates rows so that the table has all of want in its order, and returns the rows that are not in it.
// A row keeps its position as long as it lies behind the row before it, so that most changes touch no other row.
func (s *saving) enter(t *table, have []stored, want []row) (gone []stored, err error) {
	old := make(map[string]stored, len(have))
	for _, h := range have {
		old[t.key(h.values)] = h
	}
	last, moved := int64(0), false
	for _, r := range want {
		k := t.key(r.values)
		h, known := old[k]
		delete(old, k)
		next := stored{last + 1, r.values}
		if known && h.position > last {
			next.position = h.position
		}
		last = next.position
		if !known {
			err = s.insert(t, next)
		} else {
			err = s.update(t, h, next)
			moved = moved || h.position != next.position
		}
		if err != nil {
			return nil, err
		}
	}
	if moved {
		if err := s.log(t, "", nil, nil); err != nil {
			return nil, err
		}
	}
	for _, h := range have {
		if _, left := old[t.key(h.values)]; left {
			gone = append(gone, h)
		}
	}
	return gone, nil
}

func (s *saving) insert(t *table, r stored) error {
	marks := strings.Repeat(", ?", len(r.values))
	query := fmt.Sprintf("INSERT INTO %s (position, %s) VALUES (?%s)", t.name, t.columnList(), marks)
	if _, err := s.tx.ExecContext(s.ctx, query, append([]any{r.position}, r.values...)...); err != nil {
		return s.refused(t, r.values, err)
	}
	return s.log(t, t.shownKey(r.values), nil, r.values)
}

// update writes the columns that differ.
func (s *saving) update(t *table, from, to stored) error {
	var set []string
	var args []any
	for j, v := range to.values {
		if v != from.values[j] {
			set, args = append(set, `"`+t.columns[j]+`" = ?`), append(args, v)
		}
	}
	changed := len(set) > 0
	if from.position != to.position {
		set, args = append(set, "position = ?"), append(args, to.position)
	}
	if len(set) == 0 {
		return nil
	}
	where, keys := t.where(to.values)
	query := "UPDATE " + t.name + " SET " + strings.Join(set, ", ") + where
	if _, err := s.tx.ExecContext(s.ctx, query, append(args, keys...)...); err != nil {
		return s.refused(t, to.values, err)
	}
	if !changed {
		return nil
	}
	return s.log(t, t.shownKey(to.values), from.values, to.values)
}

func (s *saving) takeOut(t *table, gone []stored) error {
	for _, r := range gone {
		where, keys := t.where(r.values)
		if _, err := s.tx.ExecContext(s.ctx, "DELETE FROM "+t.name+where, keys...); err != nil {
			return s.refused(t, r.values, err)
		}
		if err := s.log(t, t.shownKey(r.values), r.values, nil); err != nil {
			return err
		}
	}
	return nil
}

// where picks the row with the key of values.
func (t *table) where(values []any) (clause string, args []any) {
	var parts []string
	for j := range t.keys {
		parts, args = append(parts, `"`+t.columns[j]+`" = ?`), append(args, values[j])
	}
	if len(parts) == 0 {
		return "", nil
	}
	return " WHERE " + strings.Join(parts, " AND "), args
}

// log enters a change, and before the first one the revision that it belongs to.
func (s *saving) log(t *table, key string, before, after []any) error {
	if err := s.allowed(Right(t.name)); err != nil {
		return err
	}
	if err := s.revise(); err != nil {
		return err
	}
	_, err := s.tx.ExecContext(s.ctx, "INSERT INTO changes (version, table_name, key, before, after) VALUES (?, ?, ?, ?, ?)",
		s.version, t.name, key, t.json(before), t.json(after))
	return err
}

// allowed returns a *DeniedError unless the saver has a right.
func (s *saving) allowed(r Right) error {
	if s.checked[r] {
		return nil
	}
	if err := s.may(s.ctx, s.tx, r); err != nil {
		return err
	}
	s.checked[r] = true
	return nil
}

// revise enters the revision that the changes belong to, unless it is there.
func (s *saving) revise() error {
	if s.entered {
		return nil
	}
	s.version++
	s.entered = true
	_, err := s.tx.ExecContext(s.ctx, "INSERT INTO revisions (version, at, who, note) VALUES (?, ?, ?, ?)", s.version, s.at, s.opt.Who, s.opt.Note)
	return err
}

// json is a row as a JSON object with the columns in their order, nil for none.
func (t *table) json(values []any) any {
	if values == nil {
		return nil
	}
	var b strings.Builder
	for j, v := range values {
		text, err := json.Marshal(v)
		if err != nil {
			panic("book: a stored value is no JSON")
		}
		fmt.Fprintf(&b, `%c"%s":%s`, "{,"[min(j, 1)], t.columns[j], text)
	}
	return b.String() + "}"
}
