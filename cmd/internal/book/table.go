package book

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"feedline/planner"
)

// table is a table of the book and the list of planner.Input that it keeps, row for row. All about it follows from the cells that
// its records are bound to.
type table struct {
	name    string
	keys    int // so many of the first columns tell rows apart
	columns []string
	rows    func(in *planner.Input) []row
	fill    func(in *planner.Input, rows [][]any) error
}

// row is the values of a record, in the order of the columns.
type row struct {
	values []any
	names  [][]string // of each column, see cell
}

// tableOf makes a table: its name, how many of the first columns are its key, the list in the input and back, and the cells of a record.
func tableOf[T any](name string, keys int, from func(*planner.Input) []T, to func(*planner.Input, []T) error, bind func(*T) []cell) *table {
	t := &table{name: name, keys: keys}
	for _, c := range bind(new(T)) {
		t.columns = append(t.columns, c.name)
	}
	t.rows = func(in *planner.Input) []row {
		list := from(in)
		rows := make([]row, len(list))
		for i := range list {
			rows[i] = rowOf(bind(&list[i]))
		}
		return rows
	}
	t.fill = func(in *planner.Input, rows [][]any) error {
		list := make([]T, len(rows))
		for i, values := range rows {
			for j, c := range bind(&list[i]) {
				if err := c.set(values[j]); err != nil {
					return fmt.Errorf("%s, row %d: %w", name, i+1, err)
				}
			}
		}
		return to(in, slices.Clip(list))
	}
	return t
}

// list makes a table of a list of the input that needs no conversion.
func list[T any](name string, keys int, at func(*planner.Input) *[]T, bind func(*T) []cell) *table {
	to := func(in *planner.Input, rows []T) error {
		*at(in) = nil
		if len(rows) > 0 {
			*at(in) = rows
		}
		return nil
	}
	return tableOf(name, keys, func(in *planner.Input) []T { return *at(in) }, to, bind)
}

func rowOf(cells []cell) row {
	r := row{make([]any, len(cells)), make([][]string, len(cells))}
	for j, c := range cells {
		r.values[j], r.names[j] = c.get(), c.names
	}
	return r
}

// key tells a row from the others of its table.
func (t *table) key(values []any) string { return strings.Join(t.keyParts(values), "\x00") }

// shownKey is the key as planner.Problem has it.
func (t *table) shownKey(values []any) string { return planner.JoinKey(t.keyParts(values)...) }

func (t *table) keyParts(values []any) []string {
	parts := make([]string, t.keys)
	for i := range parts {
		parts[i] = fmt.Sprint(values[i])
		if values[i] == nil {
			parts[i] = ""
		}
	}
	return parts
}

// check refuses texts that a row can't keep and keys that are there twice.
func (t *table) check(rows []row) error {
	seen := make(map[string]bool, len(rows))
	for _, r := range rows {
		for j, v := range r.values {
			if s, ok := v.(string); ok && (!utf8.ValidString(s) || strings.ContainsRune(s, 0)) {
				return &RowError{t.name, t.shownKey(r.values), t.columns[j], shown(v), "text in UTF-8, without a zero byte"}
			}
		}
		k := t.key(r.values)
		if seen[k] {
			return &RowError{t.name, t.shownKey(r.values), "", "the key is there twice", "each key once"}
		}
		seen[k] = true
	}
	return nil
}

// shown is a value in a message.
func shown(v any) string {
	switch v := v.(type) {
	case nil:
		return "nothing"
	case string:
		return fmt.Sprintf("%q", v)
	}
	return fmt.Sprint(v)
}

// columnList is the columns as SQL names them; import and others are words of SQL.
func (t *table) columnList() string { return `"` + strings.Join(t.columns, `", "`) + `"` }

// stored is a row as the book holds it, with its place among the others.
type stored struct {
	position int64
	values   []any
}

// read is the table's rows in order.
func (t *table) read(ctx context.Context, tx *sql.Tx) ([]stored, error) {
	rows, err := tx.QueryContext(ctx, "SELECT position, "+t.columnList()+" FROM "+t.name+" ORDER BY position")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []stored
	for rows.Next() {
		s := stored{values: make([]any, len(t.columns))}
		to := []any{&s.position}
		for j := range s.values {
			to = append(to, &s.values[j])
		}
		if err := rows.Scan(to...); err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, rows.Err()
}
