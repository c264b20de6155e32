package book

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

var ctx = context.Background()

// same compares inputs: zones by name, instants by the moment.
var same = cmp.Options{
	cmp.Comparer(func(a, b *time.Location) bool { return a == b || a != nil && b != nil && a.String() == b.String() }),
	cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) }),
}

// fresh is a new book in a folder of its own.
func fresh(t testing.TB) *Book {
	t.Helper()
	b, err := Create(filepath.Join(t.TempDir(), "plant.book"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func mustSave(t testing.TB, b *Book, in *planner.Input) Version {
	t.Helper()
	v, err := b.Save(ctx, in, SaveOptions{Who: "scheduler", Note: "test"})
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func mustLoad(t testing.TB, b *Book) (*planner.Input, Version) {
	t.Helper()
	in, v, err := b.Load(ctx)
	if err != nil {
		t.Fatal(err)
	}
	return in, v
}

// fataler is a *testing.T or a *rapid.T.
type fataler interface {
	Fatalf(format string, args ...any)
}

// keeps fails unless the book holds in, and saving what it holds changes nothing.
func keeps(t fataler, b *Book, in *planner.Input) {
	back, v, err := b.Load(ctx)
	if err != nil {
		t.Fatalf("load: %v", err)
	}
	if diff := cmp.Diff(in, back, same); diff != "" {
		t.Fatalf("saved (-), loaded (+):\n%s", diff)
	}
	again, err := b.Save(ctx, back, SaveOptions{Expect: v})
	if err != nil || again != v {
		t.Fatalf("saving what was loaded: version %d, %v; want %d", again, err, v)
	}
	if log, err := b.Changes(ctx, v); err != nil || len(log) != 0 {
		t.Fatalf("saving what was loaded: %v, changes %v", err, log)
	}
}

// What is saved is what is loaded, whatever the book held before.
func TestSaveLoadIsIdentity(t *testing.T) {
	b := fresh(t)
	keeps(t, b, &planner.Input{})
	rapid.Check(t, func(t *rapid.T) {
		in := inputs().Draw(t, "input")
		if _, err := b.Save(ctx, in, SaveOptions{}); err != nil {
			t.Fatalf("save: %v", err)
		}
		keeps(t, b, in)
	})
}

// leaves counts the fields of a record that hold values of their own.
func leaves(t reflect.Type) int {
	if t.Kind() != reflect.Struct || t == reflect.TypeFor[time.Time]() {
		return 1
	}
	n := 0
	for i := range t.NumField() {
		n += leaves(t.Field(i).Type)
	}
	return n
}

func TestEveryListAndFieldHasItsPlace(t *testing.T) {
	types := []reflect.Type{reflect.TypeFor[planner.Plant]()}
	for _, holder := range []reflect.Type{reflect.TypeFor[planner.Input](), reflect.TypeFor[calendar.Calendar]()} {
		for i := range holder.NumField() {
			if f := holder.Field(i).Type; f.Kind() == reflect.Slice {
				types = append(types, f.Elem())
			}
		}
	}
	if len(types) != len(tables) {
		t.Fatalf("%d tables for %d lists and the plant", len(tables), len(types))
	}
	var want, got []int
	for _, x := range types {
		want = append(want, leaves(x))
	}
	for _, x := range tables {
		got = append(got, len(x.columns))
	}
	slices.Sort(want)
	slices.Sort(got)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("fields of the records (-), columns of the tables (+):\n%s", diff)
	}
}

func TestTablesAreStrictAndHaveTheColumns(t *testing.T) {
	b := fresh(t)
	for _, x := range tables {
		var got []string
		rows, err := b.db.Query("SELECT name FROM pragma_table_xinfo(?) WHERE name <> 'position' AND hidden = 0", x.name)
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				t.Fatal(err)
			}
			got = append(got, name)
		}
		if diff := cmp.Diff(x.columns, got); diff != "" {
			t.Errorf("%s: columns of the mapping (-), of the schema (+):\n%s", x.name, diff)
		}
		var strict int
		if err := b.db.QueryRow("SELECT strict FROM pragma_table_list WHERE name = ?", x.name).Scan(&strict); err != nil || strict != 1 {
			t.Errorf("%s: strict %d, %v", x.name, strict, err)
		}
	}
}

// logged is a log as table, key and what was there before and after.
func logged(t *testing.T, b *Book, after Version) []string {
	t.Helper()
	log, err := b.Changes(ctx, after)
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	for _, c := range log {
		list = append(list, fmt.Sprintf("%d %s %s %s: %s → %s", c.Version, c.Who, c.Table, c.Key, c.Before, c.After))
	}
	return list
}

func TestLogHoldsWhatChanged(t *testing.T) {
	b := fresh(t)
	in := &planner.Input{Suppliers: []inventory.Supplier{{Code: "A", Name: "a"}, {Code: "B", Name: "b"}, {Code: "C", Name: "c"}}}
	v := mustSave(t, b, in)
	in.Suppliers = []inventory.Supplier{{Code: "A", Name: "a"}, {Code: "C", Name: "said \"c\""}, {Code: "D", Name: "d"}}
	if got := mustSave(t, b, in); got != v+1 {
		t.Errorf("version %d, want %d", got, v+1)
	}
	want := []string{
		`3 scheduler suppliers C: {"code":"C","name":"c","country":""} → {"code":"C","name":"said \"c\"","country":""}`,
		`3 scheduler suppliers D:  → {"code":"D","name":"d","country":""}`,
		`3 scheduler suppliers B: {"code":"B","name":"b","country":""} → `,
	}
	if diff := cmp.Diff(want, logged(t, b, v)); diff != "" {
		t.Errorf("log (-want +got):\n%s", diff)
	}
}

func TestOrderOfRowsIsKept(t *testing.T) {
	b := fresh(t)
	in := &planner.Input{Suppliers: []inventory.Supplier{{Code: "B"}, {Code: "A"}, {Code: "C"}}}
	mustSave(t, b, in)
	for _, order := range []string{"BAC", "ABC", "CDAB", "D", "XDY", "YXD", ""} {
		in.Suppliers = nil
		for _, c := range order {
			in.Suppliers = append(in.Suppliers, inventory.Supplier{Code: string(c)})
		}
		mustSave(t, b, in)
		keeps(t, b, in)
	}
	before := mustSave(t, b, &planner.Input{Suppliers: []inventory.Supplier{{Code: "A"}, {Code: "B"}}})
	after := mustSave(t, b, &planner.Input{Suppliers: []inventory.Supplier{{Code: "B"}, {Code: "A"}}})
	if diff := cmp.Diff([]string{fmt.Sprintf("%d scheduler suppliers :  → ", after)}, logged(t, b, before)); diff != "" {
		t.Errorf("log of a new order (-want +got):\n%s", diff)
	}
}

func TestStaleSaveIsRefused(t *testing.T) {
	b := fresh(t)
	in, v := mustLoad(t, b)
	in.Plant.Name = "Riverside works"
	if _, err := b.Save(ctx, in, SaveOptions{Who: "purchasing", Note: "renamed", Expect: v}); err != nil {
		t.Fatal(err)
	}
	in.Plant.Name = "Hillside works"
	_, err := b.Save(ctx, in, SaveOptions{Expect: v})
	var stale *StaleError
	if !errors.As(err, &stale) || stale.Expect != v || stale.Now != v+1 || stale.Who != "purchasing" || stale.Note != "renamed" || stale.At.IsZero() {
		t.Fatalf("error %v, want a stale one of versions %d and %d by purchasing", err, v, v+1)
	}
	if now, _ := mustLoad(t, b); now.Plant.Name != "Riverside works" {
		t.Errorf("the plant is %q after a refused save", now.Plant.Name)
	}
	if _, err := b.Save(ctx, in, SaveOptions{Expect: v + 1}); err != nil {
		t.Errorf("save at the right version: %v", err)
	}
}

func TestSaveStopsWhenCancelled(t *testing.T) {
	b := fresh(t)
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := b.Save(stopped, anInput(1), SaveOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want context.Canceled", err)
	}
	keeps(t, b, &planner.Input{})
}

func TestSettings(t *testing.T) {
	b := fresh(t)
	if got, err := b.Setting(ctx, "theme"); err != nil || got != "" {
		t.Errorf("a setting never set: %q, %v", got, err)
	}
	for _, want := range []string{"dark", "it's", ""} {
		if err := b.SetSetting(ctx, "theme", want); err != nil {
			t.Fatal(err)
		}
		if got, err := b.Setting(ctx, "theme"); err != nil || got != want {
			t.Errorf("setting %q, %v; want %q", got, err, want)
		}
	}
}
