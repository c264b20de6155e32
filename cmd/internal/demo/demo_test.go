package demo

import (
	"math"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"feedline/lines"
	"feedline/lines/calendar"
)

var monday = calendar.Date(2026, 11, 30)

func TestInputIsDeterministicAndMovesWithItsStart(t *testing.T) {
	a, b := Input(monday), Input(monday)
	if !reflect.DeepEqual(a, b) {
		t.Error("two calls with the same start differ")
	}
	later := Input(monday + 70)
	for i, o := range a.Orders {
		if later.Orders[i].Due-o.Due != 70 || later.Orders[i].Length != o.Length {
			t.Fatalf("order %s: due %v and %v, want 70 days apart", o.Code, o.Due, later.Orders[i].Due)
		}
	}
}

func TestInputSize(t *testing.T) {
	in := Input(monday)
	states := map[lines.State]int{}
	for _, l := range in.Lines {
		states[l.State]++
	}
	if states[lines.Running] != 5 || states[lines.Ready] != 1 || states[lines.Uncommissioned] != 1 {
		t.Errorf("lines by state %v, want 5 running, 1 ready, 1 not commissioned", states)
	}
	for _, c := range []struct {
		what          string
		got, min, max int
	}{
		{"profiles", len(in.Profiles), 18, 18}, {"families", len(families), 6, 6}, {"grades", len(in.Grades), 3, 3},
		{"lanes", len(in.Lanes), 5, 5}, {"materials", len(in.Materials), 8, 8}, {"orders", len(in.Orders), 60, 90},
	} {
		if c.got < c.min || c.got > c.max {
			t.Errorf("%s: %d, want %d to %d", c.what, c.got, c.min, c.max)
		}
	}
	for _, p := range in.Profiles {
		if p.PerMetre < 0.1 || p.PerMetre > 0.7 {
			t.Errorf("profile %s weighs %g kg/m, want 0.1 to 0.7", p.Code, p.PerMetre)
		}
	}
	for _, f := range in.Fits {
		if f.Melt < 60 || f.Melt > 160 {
			t.Errorf("line %s melts %g kg/h for %s, want 60 to 160", f.Line, f.Melt, f.Profile)
		}
	}
}

// weeklyMetres is what the forecast asks of a profile in the given week; orders consume it, so that it is the demand
// wherever the orders of a block of four weeks do not exceed it.
func weeklyMetres(p product, week int) float64 {
	return season[week/4] * p.weekly
}

// TestLoadOfTheRunningLines computes with an independent LP solver (gonum) the least share of its hours that the
// busiest running line must spend to make a usual week's demand, changeovers aside.
func TestLoadOfTheRunningLines(t *testing.T) {
	in := Input(monday)
	hours := float64(in.Calendar.SpanHours("L1", calendar.Span{From: monday, To: monday + 7}))
	if hours != 128 {
		t.Fatalf("hours a week %g, want 5·24 + 8 = 128", hours)
	}
	load := leastLoad(t, hours)
	if load < 0.80 || load > 0.90 {
		t.Errorf("load %.3f, want about 0.85", load)
	}
	t.Logf("load of the running lines %.3f", load)
}

// leastLoad minimises λ with Σ_l x[l,p] = metres[p] and Σ_p x[l,p]/rate[l,p] + slack = λ·hours over running lines l.
func leastLoad(t *testing.T, hours float64) float64 {
	t.Helper()
	var pairs [][3]float64 // line, profile, metres an hour
	for l, m := range machines[:5] {
		for p, pr := range products {
			if f, ok := familyOn(m, pr.family); ok {
				gross := min(math.Round(m.melt*f.load)/pr.perMetre, f.haulOff*60*float64(f.strands))
				pairs = append(pairs, [3]float64{float64(l), float64(p), gross * m.availability * f.quality})
			}
		}
	}
	n := len(pairs)
	a := mat.NewDense(len(products)+5, n+6, nil)
	b := make([]float64, len(products)+5)
	c := make([]float64, n+6)
	c[n] = 1
	for j, x := range pairs {
		a.Set(int(x[1]), j, x[2]/1000)
		a.Set(len(products)+int(x[0]), j, 1)
	}
	for p, pr := range products {
		b[p] = pr.weekly / 1000
	}
	for l := range 5 {
		a.Set(len(products)+l, n, -hours)
		a.Set(len(products)+l, n+1+l, 1)
	}
	z, _, err := lp.Simplex(c, a, b, 1e-10, nil)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// TestWhiteRunsShortFirst adds up by hand what demand eats and what committed supply gives: rack and silo, free lots and
// deliveries at the 0.8 quantile of their spread (z = 0.8416, rounded up to a day), times the yield of their steps, and own
// regrind. White must run short in week 7 to 9, and not before week 12 had the vessel kept its date; grey and black last longer.
func TestWhiteRunsShortFirst(t *testing.T) {
	first := firstShort(Input(monday))
	t.Logf("first short week: %v (26 = not at all)", first)
	if w := first[white]; w < 7 || w > 9 {
		t.Errorf("white is short in week %d, want 7 to 9", w)
	}
	for _, g := range []string{grey, black} {
		if first[g] <= first[white]+2 {
			t.Errorf("grade %s is short in week %d, want well after white (%d)", g, first[g], first[white])
		}
	}
	in := Input(monday)
	for i := range in.Deliveries {
		if d := &in.Deliveries[i]; d.Late {
			d.ETA, d.Late = d.ETA-35, false
		}
	}
	if w := firstShort(in)[white]; w < 10 {
		t.Errorf("with the vessel in time white is short in week %d, want 10 or later", w)
	}
}

// TestInputIsRight checks the plant for a start on each day of a week; warnings are allowed, and shown.
func TestInputIsRight(t *testing.T) {
	for d := monday; d < monday+7; d++ {
		for _, p := range Input(d).Check(d) {
			if !p.Warning {
				t.Errorf("start %v: %s", d, p)
			} else if d == monday {
				t.Logf("warning: %s", p)
			}
		}
	}
}

// History is the same in every call, right by itself, and of an amount that a book takes in no time.
func TestHistory(t *testing.T) {
	in := Input(monday)
	a, b := History(in, monday, HistoryWeeks), History(in, monday, HistoryWeeks)
	if !reflect.DeepEqual(a, b) {
		t.Error("two calls differ")
	}
	if len(a) < 1000 || len(a) > 2500 {
		t.Errorf("%d records", len(a))
	}
	for _, r := range a {
		if h := r.Head(); h.Day < monday-84 || h.Day >= monday {
			t.Fatalf("%s %s is of %v", h.Kind, h.Code, h.Day)
		}
		for _, p := range r.Check() {
			t.Fatalf("%v: %v", r.Head(), p)
		}
	}
}

// Hours and shares of the demonstration's past are written with the digits that they were rounded to.
func TestRoundedWithoutNoise(t *testing.T) {
	for _, c := range []struct{ x, step, want float64 }{{4.36, 0.05, 4.35}, {0.69, 0.05, 0.7}, {0.84, 0.05, 0.85}, {7.11, 0.1, 7.1}, {0.01234, 1e-4, 0.0123}, {163, 20, 160}, {12.3, 1, 12}} {
		if got := roundTo(c.x, c.step); got != c.want {
			t.Errorf("%v to the nearest %v = %v, want %v", c.x, c.step, got, c.want)
		}
	}
}

// TestOrderedBeforeTheStart: what is committed was ordered on a working day before the start, whatever the day of the week.
func TestOrderedBeforeTheStart(t *testing.T) {
	for start := monday; start < monday+7; start++ {
		for _, d := range Input(start).Deliveries {
			if d.Ordered == 0 || d.Ordered >= start || d.Ordered > d.ETA || d.Ordered-d.Ordered.Monday() > 4 {
				t.Errorf("start %s: %s is committed, ordered on %s, comes on %s", start, d.Code, d.Ordered, d.ETA)
			}
		}
	}
}
