package book

import (
	"fmt"
	"slices"
	"strings"

	sqlite3 "modernc.org/sqlite/lib"
)

// refused makes a *RowError of a constraint that a row of t broke; other errors it leaves alone.
func (s *saving) refused(t *table, values []any, err error) error {
	if primary(err) != sqlite3.SQLITE_CONSTRAINT {
		return err
	}
	row := &RowError{Table: t.name, Key: t.shownKey(values)}
	switch code(err) {
	case sqlite3.SQLITE_CONSTRAINT_CHECK:
		// A check is named "column: what is allowed".
		row.Column, row.Allowed, _ = strings.Cut(detail(err, "CHECK constraint failed: "), ": ")
	case sqlite3.SQLITE_CONSTRAINT_NOTNULL:
		row.Column, row.Allowed = strings.TrimPrefix(detail(err, "NOT NULL constraint failed: "), t.name+"."), "a value"
	case sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY, sqlite3.SQLITE_CONSTRAINT_TRIGGER:
		if e := s.dangling(); e != nil {
			return e
		}
		row.Allowed = "codes that are there"
	default:
		return err
	}
	row.Value = "the row"
	if j := slices.Index(t.columns, row.Column); j >= 0 {
		row.Value = shown(values[j])
	} else {
		row.Column = ""
	}
	return row
}

// detail is what SQLite says behind the given words: "constraint failed: CHECK constraint failed: priority: 1 to 9 (275)".
func detail(err error, behind string) string {
	_, rest, _ := strings.Cut(err.Error(), behind)
	if i := strings.LastIndex(rest, " ("); i >= 0 {
		rest = rest[:i]
	}
	return rest
}

// dangling finds the first row of those to be that names a code which will not be there.
func (s *saving) dangling() error {
	codes := map[string]map[any]bool{}
	for i, t := range tables {
		codes[t.name] = map[any]bool{}
		for _, r := range s.want[i] {
			codes[t.name][r.values[0]] = true
		}
	}
	for i, t := range tables {
		for _, r := range s.want[i] {
			for j, names := range r.names {
				known := r.values[j] == nil || slices.ContainsFunc(names, func(n string) bool { return codes[n][r.values[j]] })
				if len(names) > 0 && !known {
					return &RowError{t.name, t.shownKey(r.values), t.columns[j], shown(r.values[j]),
						fmt.Sprintf("a code of %s", strings.Join(names, " or of "))}
				}
			}
		}
	}
	return nil
}
