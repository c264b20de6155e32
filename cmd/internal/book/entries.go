package book

import (
	"cmp"
	"context"
	"database/sql"
	"slices"
	"strings"

	"feedline/lines/calendar"
	"feedline/planner/records"
)

// entries reads entries kind by kind and puts them in the order they were entered.
func entries(ctx context.Context, tx *sql.Tx, f Filter) ([]records.Entry, error) {
	var all []records.Entry
	clause, args := f.clause()
	for _, t := range recordTables {
		if len(f.Kinds) > 0 && !slices.Contains(f.Kinds, t.kind) {
			continue
		}
		err := t.each(ctx, tx, clause, args, func(e records.Entry) error { all = append(all, e); return nil })
		if err != nil {
			return nil, err
		}
	}
	if !f.Standing && (len(f.Kinds) == 0 || slices.Contains(f.Kinds, records.KindReversal)) {
		more, err := reversals(ctx, tx, clause, args)
		if err != nil {
			return nil, err
		}
		all = append(all, more...)
	}
	slices.SortFunc(all, func(a, b records.Entry) int { return cmp.Compare(a.ID, b.ID) })
	if !f.Moves {
		return all, nil
	}
	at := make(map[int64]*records.Entry, len(all))
	for i := range all {
		at[all[i].ID] = &all[i]
	}
	return all, addMoves(ctx, tx, at, "")
}

func (f Filter) clause() (string, []any) {
	var parts []string
	var args []any
	if f.From != 0 {
		parts, args = append(parts, "e.day >= ?"), append(args, f.From.String())
	}
	if f.To != 0 {
		parts, args = append(parts, "e.day < ?"), append(args, f.To.String())
	}
	if f.Standing {
		parts = append(parts, "v.id IS NULL")
	}
	if len(parts) == 0 {
		return "", nil
	}
	return " WHERE " + strings.Join(parts, " AND "), args
}

func reversals(ctx context.Context, tx *sql.Tx, clause string, args []any) (all []records.Entry, err error) {
	and := " WHERE e.reverses IS NOT NULL"
	if clause != "" {
		and = clause + " AND e.reverses IS NOT NULL"
	}
	rows, err := tx.QueryContext(ctx, "SELECT e.id, e.at, e.who, e.code, e.day, e.note, e.history, e.reverses FROM entries e LEFT JOIN entries v ON v.reverses = e.id"+and, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		e := records.Entry{Head: records.Head{Kind: records.KindReversal}}
		var at, day string
		if err := rows.Scan(&e.ID, &at, &e.Who, &e.Head.Code, &day, &e.Head.Note, &e.History, &e.Reverses); err != nil {
			return nil, err
		}
		if e.At, err = parseNow(at); err != nil {
			return nil, err
		}
		if e.Head.Day, err = calendar.ParseDay(day); err != nil {
			return nil, damaged("entry %d: %v", e.ID, err)
		}
		all = append(all, e)
	}
	return all, rows.Err()
}
