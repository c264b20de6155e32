package demo

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
	"feedline/yield"
)

// HistoryWeeks is how far back the demonstration plant's records go.
const HistoryWeeks = 12

// History is invented records of the weeks before start: what came, what was crushed and pelletized, what the lines made and what
// left, for a book that remembers them. They agree with the figures entered but for a few that the estimates correct: the sea lane takes
// longer, line 3 stops oftener, and the pressed blocks' yield has been falling for two weeks. Every call gives the same.
func History(in *planner.Input, start calendar.Day, weeks int) []records.Record {
	h := &historian{in: in, start: start, rng: rand.New(rand.NewPCG(2207, 3)), fits: map[string][]lines.Fit{}, profiles: map[string]lines.Profile{},
		yard: map[string][]lotLeft{}, silo: map[string]float64{}, scrap: map[string]float64{}, running: map[string]int{}, left: map[string]int{}, sent: map[string]float64{}, turn: map[string]int{}}
	for _, p := range in.Profiles {
		h.profiles[p.Code] = p
	}
	for _, f := range in.Fits {
		h.fits[f.Line] = append(h.fits[f.Line], f)
	}
	for d := start - calendar.Day(7*weeks); d < start; d++ {
		h.day(d)
	}
	h.inYard()
	slices.SortStableFunc(h.list, func(a, b records.Record) int { return int(a.Head().Day - b.Head().Day) })
	return h.list
}

type lotLeft struct {
	code string
	kg   float64
}

// historian invents day by day.
type historian struct {
	in       *planner.Input
	start    calendar.Day
	rng      *rand.Rand
	fits     map[string][]lines.Fit
	profiles map[string]lines.Profile
	yard     map[string][]lotLeft // lots by material
	silo     map[string]float64   // pellets made ahead, by grade
	scrap    map[string]float64   // own regrind by grade
	running  map[string]int       // fit that a line runs
	left     map[string]int       // shifts that it goes on
	sent     map[string]float64   // metres not shipped yet, by profile
	turn     map[string]int       // of a grade's materials
	lots     int
	list     []records.Record
}

// near is about x, by a relative standard deviation.
func (h *historian) near(x, sd float64) float64 { return x * (1 + sd*h.rng.NormFloat64()) }

func (h *historian) add(r records.Record) { h.list = append(h.list, r) }

func (h *historian) day(d calendar.Day) {
	used := map[string]float64{}
	for _, s := range h.in.Calendar.Shifts {
		if !s.Weekdays[d.Weekday()] {
			continue
		}
		for _, l := range h.in.Lines {
			if l.State == lines.Running && len(h.fits[l.Code]) > 0 {
				h.shift(d, s.Code, l.Code, used)
			}
		}
	}
	for _, g := range h.in.Grades {
		if used[g.Code] > 0 {
			h.pellets(d, g.Code, used[g.Code])
		}
	}
	if d.Weekday() == 5 {
		h.ship(d)
	}
}

var stopHours = []struct {
	reason string
	share  float64 // of the down hours
}{{"DIE", 0.35}, {"SCREEN", 0.25}, {"FEED", 0.2}, {"HAUL", 0.2}}

// shift is a line's run of eight hours on the profile whose turn it is.
func (h *historian) shift(d calendar.Day, shift, line string, used map[string]float64) {
	setup := 0.0
	if h.left[line] == 0 {
		h.left[line] = 8 + h.rng.IntN(10)
		list := h.fits[line]
		before := h.profiles[list[h.running[line]%len(list)].Profile]
		h.running[line]++
		after := h.profiles[list[h.running[line]%len(list)].Profile]
		if c, ok := lines.ChangeoverBetween(h.in.Changeovers, before.DieFamily, after.DieFamily); ok && len(h.list) > 5 {
			setup = max(0.5, h.near(float64(c.Hours)*1.04, 0.2))
		}
	}
	h.left[line]--
	f := h.fits[line][h.running[line]%len(h.fits[line])]
	p := h.profiles[f.Profile]
	const hours = 8.0
	up := h.near(float64(f.Availability), 0.05)
	if line == "L3" {
		up -= 0.05
	}
	run := (hours - setup) * min(0.99, max(0.4, up))
	down := hours - setup - run
	why := stopHours[h.rng.IntN(len(stopHours))]
	ideal := lines.Rate(p, lines.Fit{Line: f.Line, Profile: f.Profile, Melt: f.Melt, HaulOff: f.HaulOff, Strands: f.Strands, Availability: 1, Quality: 1}).GoodMetresPerHour
	gross := run * h.near(ideal*0.992, 0.02)
	good := roundTo(gross*min(0.995, h.near(float64(f.Quality), 0.008)), 1)
	scrap := roundTo((gross-good)*float64(p.PerMetre), 0.5)
	h.add(records.Run{Code: fmt.Sprintf("%s-%s-%s", line, d.UTC().Format("060102"), shift[:1]), Day: d, Shift: shift, Line: line, Profile: p.Code, Good: quantity.Length(good),
		Scrap: quantity.Mass(scrap), Run: hoursOf(run), SetUp: hoursOf(setup), Down: hoursOf(down), Stops: []records.Stopped{{Reason: why.reason, Hours: hoursOf(down * 0.8)}}})
	used[p.Grade] += good*float64(p.PerMetre) + scrap
	h.scrap[p.Grade] += scrap * float64(h.in.Plant.RegrindYield)
	h.sent[p.Code] += good
}

func hoursOf(x float64) quantity.Hours { return quantity.Hours(roundTo(x, 0.05)) }

// turns is which material is pelletized for a grade on which day.
var turns = map[string][]string{white: {"INW", "BLW", "IMW", "INW", "IMW", "BLW"}, grey: {"INM", "INM", "RGM", "INM", "FLH"}, black: {"PLB"}}

// pellets makes what a grade used, of the material whose turn it is, and once a week of own regrind.
func (h *historian) pellets(d calendar.Day, grade string, kg float64) {
	list := turns[grade]
	if len(list) == 0 {
		return
	}
	material := list[h.turn[grade]%len(list)]
	h.turn[grade]++
	if d.Weekday() == 4 && h.scrap[grade] > 50 {
		in := roundTo(h.scrap[grade], 1)
		out := roundTo(in*h.near(0.965, 0.01), 0.5)
		h.scrap[grade] -= in
		h.add(records.Process{Code: fmt.Sprintf("REG-%s-%s", grade, d.UTC().Format("060102")), Day: d, Shift: "early", Step: "PEL", Regrind: quantity.Mass(in), Grade: grade, Out: quantity.Mass(min(in, out))})
		h.silo[grade] += out
	}
	for _, m := range h.in.Materials {
		if m.Code == material {
			h.make(d, m, grade, kg-h.silo[grade])
		}
	}
	h.silo[grade] = max(0, h.silo[grade]-kg)
}

// make passes a material through its steps to so many kilograms of pellets.
func (h *historian) make(d calendar.Day, m inventory.Material, grade string, kg float64) {
	chain := yield.Chain{Steps: h.in.Steps, Overrides: h.in.Overrides}
	path := chain.For(m.Code, string(m.Form))
	if kg <= 0 || len(path.Steps) == 0 {
		return
	}
	lots := h.take(d, m, roundTo(kg/float64(path.Yield), 10))
	for i, s := range path.Steps {
		y := h.near(float64(s.Out/s.In), 0.006)
		if m.Code == "BLW" && s.Step == "PEL" && d >= h.start-21 {
			y -= 0.04
		}
		p := records.Process{Code: fmt.Sprintf("%s-%s-%s", s.Step, m.Code, d.UTC().Format("060102")), Day: d, Shift: "early", Step: s.Step, Lots: lots}
		in := float64(records.MassOf(p.InGrams()))
		out := roundTo(in*min(y, 0.9995), 0.5)
		p.Out, p.FilterLoss = quantity.Mass(out), quantity.Mass(roundTo(0.4*(in-out), 0.5))
		if i == len(path.Steps)-1 {
			p.Grade = grade
			h.silo[grade] += out
		} else {
			lots = h.shrunk(lots, out/in)
		}
		h.add(p)
	}
}

// shrunk is what is left of lots after a step, to the kilogram below.
func (h *historian) shrunk(list []records.Draw, y float64) []records.Draw {
	out := make([]records.Draw, len(list))
	for i, d := range list {
		out[i] = records.Draw{Lot: d.Lot, Mass: quantity.Mass(max(1, float64(int(float64(d.Mass)*y))))}
	}
	return out
}

// take draws of a material's oldest lots; loads are received where they run out.
func (h *historian) take(d calendar.Day, m inventory.Material, kg float64) []records.Draw {
	var list []records.Draw
	for kg > 0.5 {
		if len(h.yard[m.Code]) == 0 {
			h.receive(d, m)
		}
		l := &h.yard[m.Code][0]
		n := min(kg, l.kg)
		list = append(list, records.Draw{Lot: l.code, Mass: quantity.Mass(n)})
		kg -= n
		if l.kg -= n; l.kg < 1 {
			h.yard[m.Code] = h.yard[m.Code][1:]
		}
	}
	return list
}

// receive is a load of a material on its lane.
func (h *historian) receive(d calendar.Day, m inventory.Material) {
	h.lots++
	r := records.Receipt{Code: fmt.Sprintf("W-%d", 70100+h.lots), Lot: fmt.Sprintf("A-%d", 10000+h.lots), Day: d, Material: m.Code, Net: 18000}
	for _, l := range h.in.Lanes {
		if l.Material == m.Code {
			r.Lane, r.Net = l.Code, quantity.Mass(roundTo(h.near(float64(l.Load), 0.01), 20))
			days := h.near(l.LeadTime.Mean, 0.12)
			if l.Import {
				days *= 1.08
			}
			r.Ordered = d - calendar.Day(max(1, int(days+0.5)))
		}
	}
	if r.Lane == "" {
		r.Supplier = map[string]string{"BLW": "OSTERWICK", "RGM": "VANDEMERE", "FLH": "KELLSTEIN"}[m.Code]
	}
	r.Tare = quantity.Mass(roundTo(h.near(14600, 0.01), 20))
	r.Gross = r.Net + r.Tare
	h.test(&r, m)
	h.add(r)
	h.yard[m.Code] = append(h.yard[m.Code], lotLeft{r.Lot, float64(r.Net)})
}

func (h *historian) test(r *records.Receipt, m inventory.Material) {
	if m.Moisture > 0 {
		r.Moisture = records.Is(roundTo(max(0, h.near(float64(m.Moisture), 0.2)), 1e-4))
		r.Contamination = records.Is(roundTo(max(0, h.near(float64(m.Contamination), 0.2)), 1e-4))
	}
	r.MFR = records.Is(roundTo(h.near(m.MFR, 0.05), 0.1))
	if m.Polymer == "EPS" {
		r.HBCDD = records.Is(roundTo(5+30*h.rng.Float64(), 1))
	}
}

// inYard is the receipts of the lots that are still there.
func (h *historian) inYard() {
	for i, l := range h.in.Lots {
		r := records.Receipt{Code: fmt.Sprintf("W-%d", 79900+i), Lot: l.Code, Day: l.Received, Material: l.Material, Supplier: l.Supplier, Net: l.Mass}
		for _, m := range h.in.Materials {
			if m.Code == l.Material {
				h.test(&r, m)
			}
		}
		if l.Hold {
			r.HBCDD, r.Bromine, r.Decision, r.Reason = records.Measured{}, records.Is(410), records.Hold, l.Reason
		}
		h.add(r)
	}
}

// ship sends what was made in the week.
func (h *historian) ship(d calendar.Day) {
	for i, p := range h.in.Profiles {
		if m := roundTo(h.sent[p.Code]*0.97-75, 150); m > 0 {
			h.sent[p.Code] -= m
			h.add(records.Shipment{Code: fmt.Sprintf("S-%s-%d", d.UTC().Format("060102"), i+1), Day: d, Order: fmt.Sprintf("O-%s-%d", d.UTC().Format("060102"), i+1), Profile: p.Code, Length: quantity.Length(m)})
		}
	}
}
