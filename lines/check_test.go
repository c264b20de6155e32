package lines

import (
	"math"
	"testing"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

var (
	goodProfile = Profile{Code: "P1", Grade: "W", PerMetre: 0.25, Dies: 1, Price: 1.2, RackLitresPerMetre: 0.6}
	goodLine    = Line{Code: "L1", ScrewMM: 65, Crew: 0.5, Startup: Startup{Hours: 3, Scrap: 40}, BaseKW: 15, KWhPerKg: 0.4}
	goodFit     = Fit{Line: "L1", Profile: "P1", Melt: 110, HaulOff: 4, Strands: 2, Availability: 0.85, Quality: 0.95}
)

func TestGoodRecordsHaveNoProblems(t *testing.T) {
	list := append(goodProfile.Check(), goodLine.Check()...)
	list = append(list, goodFit.Check()...)
	list = append(list, CheckFit(goodProfile, goodLine, goodFit)...)
	list = append(list, Changeover{From: "*", To: "*", Hours: 3, Scrap: 30, FitterHours: 4}.Check()...)
	if len(list) != 0 {
		t.Errorf("problems %v, want none", list)
	}
}

// Each change to a good record is found, in the field it was made.
func TestCheckFindsEachFault(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		field   string
		warning bool
		list    []quantity.Problem
	}{
		{"Code", false, with(goodProfile, func(p *Profile) { p.Code = "" })},
		{"Grade", false, with(goodProfile, func(p *Profile) { p.Grade = " " })},
		{"PerMetre", false, with(goodProfile, func(p *Profile) { p.PerMetre = 0 })},
		{"PerMetre", false, with(goodProfile, func(p *Profile) { p.PerMetre = quantity.LinearDensity(nan) })},
		{"PerMetre", true, with(goodProfile, func(p *Profile) { p.PerMetre, p.RackLitresPerMetre = 250, 0 })},
		{"Dies", false, with(goodProfile, func(p *Profile) { p.Dies = 0 })},
		{"RackLitresPerMetre", false, with(goodProfile, func(p *Profile) { p.RackLitresPerMetre = 0.2 })}, // 1250 kg/m³
		{"StockTarget", false, with(goodProfile, func(p *Profile) { p.StockTarget = -1 })},
		{"State", false, with(goodLine, func(l *Line) { l.State = 7 })},
		{"DownUntil", false, with(goodLine, func(l *Line) { l.State = Down })},
		{"Crew", false, with(goodLine, func(l *Line) { l.Crew = -1 })},
		{"Startup.Hours", true, with(goodLine, func(l *Line) { l.Startup.Hours = 0.25 })}, // less than the heat soak
		{"Startup.Scrap", false, with(goodLine, func(l *Line) { l.Startup.Scrap = quantity.Mass(math.Inf(1)) })},
		{"MinRunDays", false, with(goodLine, func(l *Line) { l.MinRunDays = -1 })},
		{"KWhPerKg", true, with(goodLine, func(l *Line) { l.KWhPerKg = 0.05 })}, // less than heating takes
		{"ScrewMM", true, with(goodLine, func(l *Line) { l.ScrewMM = 2.5 })},    // inches
		{"Melt", false, with(goodFit, func(f *Fit) { f.Melt, f.HaulOff = 0, 0 })},
		{"HaulOff", true, with(goodFit, func(f *Fit) { f.HaulOff = 240 })}, // metres an hour
		{"Strands", false, with(goodFit, func(f *Fit) { f.Strands = 0 })},
		{"Availability", false, with(goodFit, func(f *Fit) { f.Availability = 85 })},
		{"Quality", false, with(goodFit, func(f *Fit) { f.Quality = 0 })},
		{"Quality", true, with(goodFit, func(f *Fit) { f.Quality = 0.05 })}, // scrap entered for good
		{"To", false, with(Changeover{From: "*", To: "*"}, func(x *Changeover) { x.To = "" })},
		{"Hours", false, with(Changeover{From: "*", To: "*"}, func(x *Changeover) { x.Hours = -1 })},
		{"Hours", true, with(Changeover{From: "*", To: "*"}, func(x *Changeover) { x.Hours = 90 })}, // minutes
	} {
		if len(c.list) != 1 || c.list[0].Field != c.field || c.list[0].Warning != c.warning {
			t.Errorf("problems %v, want one of %s (warning %v)", c.list, c.field, c.warning)
		}
	}
	down := goodLine
	down.State, down.DownUntil = Down, calendar.Date(2026, 12, 1)
	if list := down.Check(); len(list) != 0 {
		t.Errorf("line that is down: %v", list)
	}
}

func with[T interface{ Check() []quantity.Problem }](x T, change func(*T)) []quantity.Problem {
	change(&x)
	return x.Check()
}

func TestCheckFit(t *testing.T) {
	f := goodFit
	f.Melt = 1100 // a 65 mm screw gives 100
	if list := CheckFit(goodProfile, goodLine, f); len(list) != 1 || list[0].Field != "Melt" || !list[0].Warning {
		t.Errorf("problems %v, want a warning of Melt", list)
	}
	f = goodFit
	f.HaulOff = 0.01
	if list := CheckFit(goodProfile, goodLine, f); len(list) != 1 || list[0].Field != "HaulOff" || !list[0].Warning {
		t.Errorf("problems %v, want a warning of HaulOff", list)
	}
	unknown := goodLine
	unknown.ScrewMM = 0
	f.HaulOff, f.Melt = 4, 1100
	if list := CheckFit(goodProfile, unknown, f); len(list) != 0 {
		t.Errorf("screw not known: %v, want no problems", list)
	}
}
