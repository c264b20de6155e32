package book

import (
	"encoding/json"
	"errors"
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"feedline/planner"
	"feedline/planner/forecast"
	"feedline/planner/solve"
)

// plans draws plans by the types of their fields, with infinities and lists that are empty or nil.
func plans() *rapid.Generator[*planner.Plan] {
	return rapid.Custom(func(t *rapid.T) *planner.Plan {
		p := &planner.Plan{}
		anyOf(t, reflect.ValueOf(p).Elem())
		return p
	})
}

var figures = rapid.OneOf(rapid.SampledFrom([]float64{math.Inf(1), math.Inf(-1), 0, 5e-324, -0.1, math.MaxFloat64}), rapid.Float64())

func anyOf(t *rapid.T, v reflect.Value) {
	switch {
	case v.Type() == timeType:
		v.Set(reflect.ValueOf(time.Unix(rapid.Int64Range(0, 4e9).Draw(t, ""), rapid.Int64Range(0, 999999999).Draw(t, "")).UTC()))
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			anyOf(t, v.Field(i))
		}
	case v.Kind() == reflect.Slice:
		if n := rapid.IntRange(-1, 2).Draw(t, "len"); n >= 0 {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
		}
		for i := range v.Len() {
			anyOf(t, v.Index(i))
		}
	case v.Kind() == reflect.Array:
		for i := range v.Len() {
			anyOf(t, v.Index(i))
		}
	case v.Kind() == reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		x := reflect.New(v.Type().Elem()).Elem()
		anyOf(t, x)
		v.SetMapIndex(reflect.ValueOf(nasty.Draw(t, "")).Convert(v.Type().Key()), x)
	case v.Kind() == reflect.String:
		v.SetString(nasty.Draw(t, ""))
	case v.Kind() == reflect.Float64:
		v.SetFloat(figures.Draw(t, ""))
	case v.Kind() == reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, ""))
	case v.CanInt() && v.Type().Bits() == 64:
		v.SetInt(rapid.Int64().Draw(t, ""))
	case v.CanInt():
		v.SetInt(rapid.Int64Range(firstDay, lastDay).Draw(t, ""))
	default:
		t.Fatalf("a field of a kind that the drawing does not know: %v", v.Type())
	}
}

func TestPlanIsKept(t *testing.T) {
	b := fresh(t)
	v := mustSave(t, b, small())
	rapid.Check(t, func(t *rapid.T) {
		p := plans().Draw(t, "plan")
		id, err := b.SavePlan(ctx, p, PlanMeta{Input: v})
		if err != nil {
			t.Fatalf("save: %v", err)
		}
		back, meta, err := b.LastPlan(ctx)
		if err != nil || meta.ID != id {
			t.Fatalf("load: plan %d, %v; want %d", meta.ID, err, id)
		}
		if diff := cmp.Diff(p, back, same); diff != "" {
			t.Fatalf("saved (-), loaded (+):\n%s", diff)
		}
	})
}

func TestPlansAndReleases(t *testing.T) {
	b := fresh(t)
	noon := time.Date(2026, 12, 7, 12, 0, 0, 5, time.UTC)
	b.clock = func() time.Time { return noon }
	for what, get := range map[string]func() error{
		"last": func() error { _, _, err := b.LastPlan(ctx); return err }, "by number": func() error { _, _, err := b.Plan(ctx, 7); return err },
		"release": func() error { return b.Release(ctx, 7, "scheduler") },
	} {
		if err := get(); !errors.Is(err, ErrNoPlan) {
			t.Errorf("%s of none: %v, want ErrNoPlan", what, err)
		}
	}
	if _, _, err := b.Released(ctx); !errors.Is(err, ErrNotReleased) {
		t.Errorf("released of none: %v", err)
	}
	_, v := mustLoad(t, b)
	save := func(name string, m PlanMeta) int64 {
		t.Helper()
		p := &planner.Plan{Plant: name, Start: monday, Stop: solve.GapReached, Objective: 12.5, Bound: 12, Gap: math.NaN()}
		p.Pellets = []planner.PelletLevel{{Grade: "G", CoverDays: math.Inf(1)}}
		id, err := b.SavePlan(ctx, p, m)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	one := save("one", PlanMeta{Input: v, Note: "morning", Options: json.RawMessage(`{"gap":0.001}`)})
	two := save("two", PlanMeta{})
	if p, _, err := b.Plan(ctx, one); err != nil || p.Plant != "one" || !math.IsInf(p.Pellets[0].CoverDays, 1) || !math.IsNaN(p.Gap) {
		t.Errorf("plan one: %+v, %v", p, err)
	}
	if p, m, err := b.LastPlan(ctx); err != nil || p.Plant != "two" || m.ID != two || m.Released() {
		t.Errorf("last plan: %+v, %+v, %v; want two", p, m, err)
	}
	for _, id := range []int64{two, one} {
		if err := b.Release(ctx, id, "scheduler"); err != nil {
			t.Fatal(err)
		}
	}
	if p, m, err := b.Released(ctx); err != nil || p.Plant != "one" || m.ReleasedBy != "scheduler" || !m.ReleasedAt.Equal(noon) {
		t.Errorf("released plan: %+v, %+v, %v; want one", p, m, err)
	}
	heads, err := b.Plans(ctx)
	if err != nil {
		t.Fatal(err)
	}
	want := []PlanHead{
		{PlanMeta: PlanMeta{ID: two, Saved: noon, ReleasedAt: noon, ReleasedBy: "scheduler"}, Start: monday, Stop: "gap reached", Objective: 12.5, Bound: 12, Gap: math.NaN()},
		{PlanMeta: PlanMeta{ID: one, Saved: noon, Input: v, Note: "morning", Options: json.RawMessage(`{"gap":0.001}`), ReleasedAt: noon, ReleasedBy: "scheduler"}, Start: monday, Stop: "gap reached", Objective: 12.5, Bound: 12, Gap: math.NaN()},
	}
	if diff := cmp.Diff(want, heads, cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("plans (-want +got):\n%s", diff)
	}
}

// TestThinPlans: of old plans with the prefix the last of a day and released ones stay; others and young ones are not touched.
func TestThinPlans(t *testing.T) {
	b := fresh(t)
	now := time.Date(2026, 12, 1, 5, 0, 0, 0, time.UTC)
	b.clock = func() time.Time { return now }
	save := func(note string) int64 {
		t.Helper()
		id, err := b.SavePlan(ctx, &planner.Plan{Start: monday}, PlanMeta{Note: note})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	var gone, kept []int64
	for range 3 { // days
		released := save("watch: scheduled")
		if err := b.Release(ctx, released, "anna"); err != nil {
			t.Fatal(err)
		}
		drawn := save("watch: book changed")
		if err := b.SaveForecast(ctx, drawn, &forecast.Result{Runs: 10, Currency: "EUR"}); err != nil {
			t.Fatal(err)
		}
		old := now.Before(time.Date(2026, 12, 3, 0, 0, 0, 0, time.UTC))
		kept = append(kept, released, save("before the shift"))
		if old {
			gone = append(gone, drawn)
		} else {
			kept = append(kept, drawn)
		}
		kept = append(kept, save("watch: book changed"))
		now = now.Add(24 * time.Hour)
	}
	now = time.Date(2026, 12, 17, 0, 0, 0, 0, time.UTC)
	n, err := b.ThinPlans(ctx, "watch: ", 14*24*time.Hour)
	if err != nil || n != int64(len(gone)) {
		t.Fatalf("%d plans taken out, %v, want %d", n, err, len(gone))
	}
	for _, id := range gone {
		if _, _, err := b.Plan(ctx, id); !errors.Is(err, ErrNoPlan) {
			t.Errorf("plan %d is there: %v", id, err)
		}
	}
	for _, id := range kept {
		if _, _, err := b.Plan(ctx, id); err != nil {
			t.Errorf("plan %d: %v", id, err)
		}
	}
	if rep, err := Check(ctx, b.Path()); err != nil || !rep.OK() {
		t.Errorf("the book is not whole: %+v, %v", rep, err)
	}
}

func TestPlanOfANewerFormIsRefused(t *testing.T) {
	b := fresh(t)
	id, err := b.SavePlan(ctx, &planner.Plan{Plant: "x"}, PlanMeta{})
	if err != nil {
		t.Fatal(err)
	}
	for body, want := range map[string]string{
		`{"schema":"feedline.plan/9","plan":{}}`:                   "feedline.plan/9",
		`{"schema":"feedline.plan/1","plan":{"Gap":"much"}}`:       "Gap",
		`{"schema":"feedline.plan/1","plan":{"Buckets":[{},[7]]}}`: "Buckets: 1",
	} {
		if _, err := b.db.Exec("UPDATE plans SET body = ?", body); err != nil {
			t.Fatal(err)
		}
		if _, _, err := b.Plan(ctx, id); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v, want one that says %q", body, err, want)
		}
	}
	if _, err := b.db.Exec(`UPDATE plans SET body = '{"schema":"feedline.plan/1","plan":{"Plant":"y","Later":[1]}}'`); err != nil {
		t.Fatal(err)
	}
	if p, _, err := b.Plan(ctx, id); err != nil || p.Plant != "y" {
		t.Errorf("a plan with a field of a later form: %+v, %v", p, err)
	}
}

func TestOptionsMustBeJSON(t *testing.T) {
	b := fresh(t)
	if _, err := b.SavePlan(ctx, &planner.Plan{}, PlanMeta{Options: json.RawMessage(`{`)}); err == nil {
		t.Error("no error")
	}
	if _, err := b.SavePlan(ctx, &planner.Plan{}, PlanMeta{Input: 77}); err == nil {
		t.Error("a plan of a version that never was: no error")
	}
}

// TestPlanIsOfTheSameRecords: whether the book has changed since a plan was made is told by what the records say, not by how often they were
// written: not after a restore of the copy that holds the plan, nor after a change that was taken back.
func TestPlanIsOfTheSameRecords(t *testing.T) {
	b := fresh(t)
	was := mustSave(t, b, small())
	if _, err := b.SavePlan(ctx, &planner.Plan{Start: monday}, PlanMeta{Input: was}); err != nil {
		t.Fatal(err)
	}
	same := func(when string, want bool) {
		t.Helper()
		_, m, err := b.LastPlan(ctx)
		if err != nil {
			t.Fatal(err)
		}
		planned, err := b.PlannedVersion(ctx)
		if err != nil {
			t.Fatal(err)
		}
		now, err := b.Version(ctx)
		if err != nil {
			t.Fatal(err)
		}
		if (m.Input == now) != want || m.Input != planned || !want && m.Input != was {
			t.Errorf("%s: the plan is of version %d and %d, the book is at %d; the same records: want %t", when, m.Input, planned, now, want)
		}
	}
	same("just planned", true)
	dst := filepath.Join(t.TempDir(), "copy.book")
	if err := b.Backup(ctx, dst, false); err != nil {
		t.Fatal(err)
	}
	change := func(f func(in *planner.Input)) {
		in := small()
		f(in)
		mustSave(t, b, in)
	}
	change(func(in *planner.Input) { in.Plant.Name = "renamed" })
	same("renamed", false)
	change(func(*planner.Input) {})
	same("named as before", true)
	change(func(in *planner.Input) { in.Orders = append(in.Orders, in.Orders[0]); in.Orders[1].Code = "more" })
	same("an order more", false)
	change(func(*planner.Input) {})
	same("the order taken out", true)
	change(func(in *planner.Input) { in.Orders[0].Length++ })
	change(func(in *planner.Input) { in.Orders[0].Length += 2 })
	same("an order changed twice", false)
	change(func(*planner.Input) {})
	same("the order as before", true)
	entered := mustRecord(t, b, dayOfRecords()[3])
	same("a run recorded", false)
	if _, err := b.Reverse(ctx, entered.Entries[0].ID, "anna", "wrong"); err != nil {
		t.Fatal(err)
	}
	change(func(*planner.Input) {}) // stock that was not stated before
	same("the run reversed", true)
	change(func(in *planner.Input) { in.Plant.Name = "renamed" })
	out, err := Restore(ctx, dst, b.Path())
	if err != nil {
		t.Fatal(err)
	}
	if now, _ := b.Version(ctx); now != out.Version || now == was {
		t.Fatalf("restored at version %d, told %d, made at %d", now, out.Version, was)
	}
	same("restored", true)
	mustRecord(t, b, dayOfRecords()[3])
	same("restored, and a run recorded", false)
}
