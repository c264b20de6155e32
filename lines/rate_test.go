package lines

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
)

func TestRate(t *testing.T) {
	p := Profile{PerMetre: 0.25}
	f := Fit{Melt: 120, HaulOff: 5, Strands: 2, Availability: 0.9, Quality: 0.95}
	r := Rate(p, f) // melt: 120 ÷ 0.25 = 480 m/h; haul-off: 5 × 60 × 2 = 600 m/h
	if r.Binds != MeltLimit {
		t.Errorf("%s binds, want melt", r.Binds)
	}
	near(t, "good metres", r.GoodMetresPerHour, 480*0.9*0.95, 1e-14, "m/h")
	near(t, "pellets", float64(r.PelletsPerGoodMetre), 0.25/0.95, 1e-14, "kg/m")
	near(t, "scrap", float64(r.ScrapPerGoodMetre), 0.25/0.95-0.25, 1e-13, "kg/m")
	near(t, "a day", float64(r.MetresPerDay(20)), 480*0.9*0.95*20, 1e-14, "m")
	f.HaulOff = 3
	if r = Rate(p, f); r.Binds != HaulOffLimit {
		t.Errorf("%s binds, want haul-off", r.Binds)
	}
	near(t, "good metres", r.GoodMetresPerHour, 360*0.9*0.95, 1e-14, "m/h")
}

func TestRateOfUnknowns(t *testing.T) {
	p := Profile{PerMetre: 0.25}
	full := Fit{Melt: 120, HaulOff: 5, Strands: 1, Availability: 1, Quality: 1}
	for name, change := range map[string]func(*Fit){
		"no limits":       func(f *Fit) { f.Melt, f.HaulOff = 0, 0 },
		"no availability": func(f *Fit) { f.Availability = 0 },
		"no quality":      func(f *Fit) { f.Quality = 0 },
	} {
		f := full
		change(&f)
		if r := Rate(p, f); r != (RateResult{}) {
			t.Errorf("%s: %+v, want nothing", name, r)
		}
	}
	if r := Rate(Profile{}, full); r != (RateResult{}) {
		t.Errorf("profile without mass: %+v, want nothing", r)
	}
	f := full
	f.HaulOff = 0
	if r := Rate(p, f); r.Binds != MeltLimit || r.GoodMetresPerHour != 480 {
		t.Errorf("haul-off not known: %+v, want 480 m/h by melt", r)
	}
	f = full
	f.Melt, f.Strands = 0, 0
	if r := Rate(p, f); r.Binds != HaulOffLimit || r.GoodMetresPerHour != 300 {
		t.Errorf("melt and strands not known: %+v, want 300 m/h by haul-off", r)
	}
}

// A conventional gutter profile runs at 5 to 6 m/min, which is 7 200 to 8 640 m a day; at 75 % utilisation 5 400 to
// 6 480 (plastinfo.com news 1335, 2006; utilisation from a survey of 165 European processors).
func TestMetresADay(t *testing.T) {
	for _, c := range []struct{ speed, availability, want float64 }{{5, 1, 7200}, {6, 1, 8640}, {5, 0.75, 5400}, {6, 0.75, 6480}} {
		r := Rate(Profile{PerMetre: 0.3}, Fit{HaulOff: quantity.Speed(c.speed), Strands: 1, Availability: quantity.Share(c.availability), Quality: 1})
		near(t, "metres a day", float64(r.MetresPerDay(24)), c.want, 1e-14, "m")
	}
}

// Eight moulding lines that average 55 000 ft a day in all: common practice, no published source. Each lies within the
// usual 1.5 to 3 km a day.
func TestUsualMouldingLine(t *testing.T) {
	each := float64(quantity.Feet(55000)) / 8
	near(t, "metres a line and day", each, 2095.5, 1e-14, "m")
	if each < usualMetresADayLow || each > usualMetresADayHigh {
		t.Errorf("%v m a line and day is outside of the usual %d to %d m", each, usualMetresADayLow, usualMetresADayHigh)
	}
}

// kg/h = 60 · m/min · strands · kg/m, and the pellets an hour of a rate are its good metres and scrap by mass.
func TestMassBalanceOfRate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Profile{PerMetre: quantity.LinearDensity(rapid.Float64Range(0.02, 5).Draw(t, "kg/m"))}
		f := Fit{
			Melt: quantity.MassRate(rapid.Float64Range(0, 500).Draw(t, "melt")), HaulOff: quantity.Speed(rapid.Float64Range(0.1, 30).Draw(t, "haul")),
			Strands:      rapid.IntRange(1, 6).Draw(t, "strands"),
			Availability: quantity.Share(rapid.Float64Range(0.1, 1).Draw(t, "A")), Quality: quantity.Share(rapid.Float64Range(0.1, 1).Draw(t, "Q")),
		}
		r := Rate(p, f)
		if used := float64(r.PelletsPerHour()); f.Melt > 0 && used > float64(f.Melt)*(1+1e-12) {
			t.Fatalf("%v kg/h used of a melt limit of %v kg/h", used, float64(f.Melt))
		}
		if run := float64(MassRateOf(p.PerMetre, f.HaulOff, f.Strands)); float64(r.PelletsPerHour()) > run*(1+1e-12) {
			t.Fatalf("%v kg/h used of %v kg/h at full haul-off", float64(r.PelletsPerHour()), run)
		}
		good := r.GoodMetresPerHour * float64(p.PerMetre)
		scrap := r.GoodMetresPerHour * float64(r.ScrapPerGoodMetre)
		if diff := good + scrap - float64(r.PelletsPerHour()); math.Abs(diff) > 1e-12*(good+scrap) {
			t.Fatalf("good %v + scrap %v is not the pellets used %v kg/h", good, scrap, float64(r.PelletsPerHour()))
		}
		faster := f
		faster.HaulOff, faster.Melt = 2*f.HaulOff, 2*f.Melt
		if Rate(p, faster).GoodMetresPerHour < r.GoodMetresPerHour {
			t.Fatalf("twice the limits make less")
		}
	})
}

func TestChangeoverBetween(t *testing.T) {
	row := func(from, to string, h quantity.Hours) Changeover { return Changeover{From: from, To: to, Hours: h} }
	all := []Changeover{row("*", "*", 4), row("A", "*", 3), row("*", "B", 2), row("A", "B", 1), row("A", "B", 9), row("C", "C", 0.5)}
	for _, c := range []struct {
		list     []Changeover
		from, to string
		want     quantity.Hours
		ok       bool
	}{
		{all, "A", "B", 1, true},       // both named; the first of two
		{all, "X", "B", 2, true},       // To before From
		{all[:3], "A", "B", 2, true},   // To with any From goes before From with any To
		{all, "A", "X", 3, true},       // From named
		{all, "X", "Y", 4, true},       // any
		{all, "A", "A", 0, true},       // within a family
		{all, "C", "C", 0.5, true},     // unless stated
		{all, "", "B", 2, true},        // nothing mounted
		{all, "", "Y", 4, true},        //
		{all[3:4], "X", "Y", 0, false}, // not known
	} {
		got, ok := ChangeoverBetween(c.list, c.from, c.to)
		if ok != c.ok || got.Hours != c.want {
			t.Errorf("%q to %q: %v h, %v; want %v h, %v", c.from, c.to, float64(got.Hours), ok, float64(c.want), c.ok)
		}
	}
}
