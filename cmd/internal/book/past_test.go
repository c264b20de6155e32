package book

import (
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"feedline/planner"
)

// pastUpdate stores a book of the newest version, if none is stored: go test ./cmd/internal/book -run TestPastBooks -update.
// Those of versions before are never written again: no program makes them any more.
var pastUpdate = flag.Bool("update", false, "store a book of the newest schema beside those of the versions before")

// pastBook names the stored book of a version, packed, and the rows it held when it was stored.
func pastBook(version int) (file, rows string) {
	name := filepath.Join("testdata", "past", fmt.Sprintf("v%d", version))
	return name + ".book.gz", name + ".json"
}

// tableRows is the rows of every table as JSON objects by column, sorted.
func tableRows(t *testing.T, db *sql.DB, columns func(table string) []string) map[string][]string {
	t.Helper()
	all := map[string][]string{}
	for _, name := range texts(t, db, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'goose_db_version'`) {
		cols := columns(name)
		if cols == nil {
			continue
		}
		var parts []string
		for _, c := range cols {
			parts = append(parts, fmt.Sprintf(`'%s', "%s"`, c, c))
		}
		rows := texts(t, db, fmt.Sprintf("SELECT json_object(%s) FROM %s", strings.Join(parts, ", "), name))
		slices.Sort(rows)
		all[name] = rows
	}
	return all
}

// texts is the first column of a query.
func texts(t *testing.T, db *sql.DB, query string, args ...any) (all []string) {
	t.Helper()
	rows, err := db.Query(query, args...)
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			t.Fatal(err)
		}
		all = append(all, s)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

// columnsOf is a table's columns that hold values of their own, sorted.
func columnsOf(t *testing.T, db *sql.DB, table string) []string {
	t.Helper()
	return texts(t, db, "SELECT name FROM pragma_table_xinfo(?) WHERE hidden = 0 ORDER BY name", table)
}

// storePast stores a book of the newest version.
func storePast(t *testing.T, version int) {
	t.Helper()
	b := fresh(t)
	mustSave(t, b, anInput(1))
	mustSave(t, b, small())
	fillPast(t, b)
	rows, err := json.MarshalIndent(tableRows(t, b.db, func(name string) []string { return columnsOf(t, b.db, name) }), "", "\t")
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(data); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	file, list := pastBook(version)
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{file: packed.Bytes(), list: append(rows, '\n')} {
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// fillPast puts something into what Save does not fill.
func fillPast(t *testing.T, b *Book) {
	t.Helper()
	ctx := context.Background()
	p := plans().Example(1)
	_, v := mustLoad(t, b)
	id, err := b.SavePlan(ctx, p, PlanMeta{Input: v, Note: "stored", Options: json.RawMessage(`{"weeks": 6}`)})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Release(ctx, id, "anna"); err != nil {
		t.Fatal(err)
	}
	if err := b.SetSetting(ctx, "colour", "grey"); err != nil {
		t.Fatal(err)
	}
	out := mustRecord(t, b, dayOfRecords()...)
	if _, err := b.Reverse(ctx, out.Entries[len(out.Entries)-1].ID, "anna", "wrong scale"); err != nil {
		t.Fatal(err)
	}
	mustSave(t, b, small())
	day := time.Date(2027, 1, 4, 5, 0, 0, 0, time.UTC)
	if err := b.KeepJob(ctx, JobState{Name: "plan", Dealt: day, Started: day, Ended: day.Add(time.Minute), Outcome: "done", Word: "plan 1"}); err != nil {
		t.Fatal(err)
	}
	if err := b.ChangeAlerts(ctx, RightWatch, func([]StoredAlert) (AlertChange, error) {
		list := []*StoredAlert{{Key: "short/WHITE", Open: true, Body: json.RawMessage(`{"what": "white is short"}`)}}
		post := func() ([]Outgoing, error) {
			return []Outgoing{{Channel: "file", Body: json.RawMessage(`{"text": "white is short"}`), Next: day}}, nil
		}
		return AlertChange{Alerts: list, Messages: post}, nil
	}); err != nil {
		t.Fatal(err)
	}
	if err := b.AddRole(ctx, Grant{"user", b.actor.Name, RoleAdmin}); err != nil {
		t.Fatal(err)
	}
}

// smallAt is what is left of small in a book of a version: tables that came later are empty.
func smallAt(version int) *planner.Input {
	in := small()
	if version < 3 {
		in.Reasons, in.Limits, in.Overrules = nil, nil, nil
	}
	return in
}

// unpackPast writes the stored book of a version to a new folder.
func unpackPast(t testing.TB, version int) string {
	t.Helper()
	file, _ := pastBook(version)
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "plant.book")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// A book of every version that there ever was is brought up to date without loss: each row it held is there, in the columns it had.
func TestPastBooks(t *testing.T) {
	latest := schema().latest()
	if file, _ := pastBook(latest); *pastUpdate && !exists(file) {
		storePast(t, latest)
	}
	for v := 1; v <= latest; v++ {
		t.Run(fmt.Sprint("version ", v), func(t *testing.T) {
			if file, _ := pastBook(v); !exists(file) {
				t.Fatalf("no book of version %d is stored: go test ./cmd/internal/book -run TestPastBooks -update", v)
			}
			pastBookIsWhole(t, v)
		})
	}
}

func pastBookIsWhole(t *testing.T, version int) {
	path := unpackPast(t, version)
	if got, err := probe(path, version); err != nil || got != version {
		t.Fatalf("the stored book is of version %d, %v; want %d", got, err, version)
	}
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	_, list := pastBook(version)
	text, err := os.ReadFile(list)
	if err != nil {
		t.Fatal(err)
	}
	var want map[string][]string
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	got := tableRows(t, b.db, func(name string) []string { return columnsThen(t, want[name]) })
	rows := 0
	for name, list := range want {
		rows += len(list)
		if len(list) == 0 {
			delete(want, name)
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("rows of the stored book are not what they were (-then +now):\n%s", d)
	}
	if rows < 40 {
		t.Errorf("the stored book has %d rows: it tests too little", rows)
	}
	keeps(t, b, smallAt(version))
	if p, _, err := b.Released(context.Background()); err != nil || p == nil {
		t.Errorf("the released plan: %v", err)
	}
}

// columnsThen is the columns that rows were stored with, nil if there were none.
func columnsThen(t *testing.T, rows []string) (cols []string) {
	t.Helper()
	if len(rows) == 0 {
		return nil
	}
	var first map[string]any
	if err := json.Unmarshal([]byte(rows[0]), &first); err != nil {
		t.Fatal(err)
	}
	for c := range first {
		cols = append(cols, c)
	}
	slices.Sort(cols)
	return cols
}
