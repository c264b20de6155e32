package book

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"time"

	"pgregory.net/rapid"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

// inputs draws plants with every table filled, or now and then empty, and fields as nasty as the schema allows. Every field of
// every record is drawn by its type, so that a new field is part of it at once; what the schema binds is then put right.
func inputs() *rapid.Generator[*planner.Input] {
	return rapid.Custom(func(t *rapid.T) *planner.Input { return (&drawing{t}).input() })
}

// anInput is the n-th of some inputs, the same in every run.
func anInput(n int) *planner.Input { return inputs().Example(n) }

var nasty = rapid.OneOf(
	rapid.SampledFrom([]string{"", " ", "'", `"`, `""`, "it's", "a;--", "[m]", "[red]", "Größe №7 ✓", "line\nbreak\r\n\ttab", "%s%d", "\\", "NULL", "0", "-", "1e5",
		"𝛿-foam", "עברית", "e\u0301", "\u200b", "\ufeff", "{}", "' OR 1=1", "a/b", "a / b", strings.Repeat("long ", 300)}),
	rapid.Map(rapid.String(), func(s string) string { return strings.ReplaceAll(s, "\x00", "") }))

var (
	codes   = rapid.Map(nasty, func(s string) string { return "c" + s })
	amounts = rapid.OneOf(rapid.SampledFrom([]float64{0, 5e-324, 1e-300, 0.1, 1.0 / 3, 1e15, 1 << 53, math.MaxFloat64}), rapid.Float64Min(0))
	shares  = rapid.OneOf(rapid.SampledFrom([]float64{0, 5e-324, 0.1, 1 - 0x1p-53, 1}), rapid.Float64Range(0, 1))
	counts  = rapid.OneOf(rapid.IntRange(0, 100), rapid.IntRange(0, math.MaxInt32))
	zones   = rapid.SampledFrom([]string{"", "UTC", "Europe/Berlin", "America/Chicago", "Australia/Lord_Howe", "Asia/Kathmandu"})
	formSet = []string{string(inventory.Ingot), string(inventory.Block), string(inventory.Flake), string(inventory.Pellet), string(inventory.Virgin), string(inventory.Regrind)}
)

const (
	firstDay = -719162 // 0001-01-01
	lastDay  = 2932896 // 9999-12-31
)

// drawing draws one input.
type drawing struct{ *rapid.T }

func draw[V any](d *drawing, g *rapid.Generator[V]) V { return g.Draw(d.T, "") }

func pick[V any](d *drawing, list ...V) V { return draw(d, rapid.SampledFrom(list)) }

// any sets a field, or the fields of a struct, to something of its type.
func (d *drawing) any(v reflect.Value) {
	switch p := v.Addr().Interface().(type) {
	case *quantity.Share:
		*p = quantity.Share(draw(d, shares))
	case *calendar.Day:
		*p = calendar.Day(draw(d, rapid.IntRange(firstDay, lastDay)))
	case *[7]bool:
		p[draw(d, rapid.IntRange(0, 6))] = true
		p[draw(d, rapid.IntRange(0, 6))] = true
	case *time.Time, *time.Duration:
		// put right by the callers
	case *[]string:
		*p = nil
		if list := draw(d, rapid.SliceOfDistinct(rapid.SampledFrom(formSet), rapid.ID[string])); len(list) > 0 {
			*p = list
		}
	default:
		d.byKind(v)
	}
}

func (d *drawing) byKind(v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			d.any(v.Field(i))
		}
	case reflect.String:
		v.SetString(draw(d, nasty))
	case reflect.Float64:
		v.SetFloat(draw(d, amounts))
	case reflect.Int:
		v.SetInt(int64(draw(d, counts)))
	case reflect.Bool:
		v.SetBool(draw(d, rapid.Bool()))
	default:
		panic("a field of a kind that the drawing does not know: " + v.Type().String())
	}
}

// drawn draws n records and puts each right.
func drawn[T any](d *drawing, n int, right func(i int, r *T)) []T {
	var list []T
	for i := range n {
		var r T
		d.any(reflect.ValueOf(&r).Elem())
		right(i, &r)
		list = append(list, r)
	}
	return list
}

// some draws up to 4 different codes, at least one.
func (d *drawing) some() []string {
	return draw(d, rapid.SliceOfNDistinct(codes, 1, 4, rapid.ID[string]))
}

// pairs draws some different pairs of codes.
func (d *drawing) pairs(a, b []string) [][2]string {
	seen := map[[2]string]bool{}
	var list [][2]string
	for range draw(d, rapid.IntRange(0, 5)) {
		if p := [2]string{pick(d, a...), pick(d, b...)}; !seen[p] {
			seen[p] = true
			list = append(list, p)
		}
	}
	return list
}

func (d *drawing) orNone(list []string) string { return pick(d, append([]string{""}, list...)...) }

// span draws days in order, none of them the day that stands for none.
func (d *drawing) span() (from, to calendar.Day) {
	from = calendar.Day(draw(d, rapid.IntRange(1, lastDay-1)))
	if draw(d, rapid.Bool()) {
		from = -2 - from/10
		return from, from + 1
	}
	return from, from + calendar.Day(draw(d, rapid.IntRange(1, int(lastDay-from))))
}

func (d *drawing) input() *planner.Input {
	in := &planner.Input{}
	d.plant(in)
	materials, grades, steps, profiles, machines := d.some(), d.some(), d.some(), d.some(), d.some()
	d.feed(in, materials, grades, steps)
	d.floor(in, grades, profiles, machines)
	d.calendar(in, append(append([]string{}, machines...), steps...))
	d.supply(in, materials, grades, profiles)
	in.Orders = drawn(d, draw(d, rapid.IntRange(0, 4)), func(i int, r *planner.Order) {
		r.Code, r.Profile, r.Priority, r.Due = fmt.Sprint("O", i, r.Code), pick(d, profiles...), draw(d, rapid.IntRange(1, 9)), noZero(r.Due)
	})
	fore := d.pairs(profiles, []string{"0", "1", "2"})
	in.Forecasts = drawn(d, len(fore), func(i int, r *planner.Forecast) {
		r.Profile = fore[i][0]
		r.From = calendar.Day(1 + 10*i)
		_, r.To = d.span()
		r.To = max(r.To, r.From+1)
	})
	in.Pins = drawn(d, draw(d, rapid.IntRange(0, 4)), func(i int, r *planner.Pin) {
		r.Code, r.Line, r.Kind = fmt.Sprint("P", i, r.Code), pick(d, machines...), pick(d, planner.PinRun, planner.PinIdle, planner.PinForbid)
		r.Profile = map[planner.PinKind]string{planner.PinRun: d.orNone(profiles), planner.PinForbid: profiles[0]}[r.Kind]
		r.From, r.To = d.span()
	})
	in.Reasons = drawn(d, draw(d, rapid.IntRange(0, 3)), func(i int, r *lines.Reason) {
		r.Code, r.Kind = fmt.Sprint("r", i, r.Code), pick(d, lines.Stop, lines.SetUp, lines.PlannedStop)
	})
	in.Limits = drawn(d, draw(d, rapid.IntRange(0, 3)), func(i int, r *inventory.Limit) {
		r.Measure, r.Use = pick(d, inventory.Measures...), fmt.Sprint(i, r.Use)
	})
	in.Overrules = drawn(d, draw(d, rapid.IntRange(0, 3)), func(i int, r *planner.Overrule) { r.Estimate = fmt.Sprint("e", i, r.Estimate) })
	return in
}

func noZero(day calendar.Day) calendar.Day {
	if day == 0 {
		return 1
	}
	return day
}

func (d *drawing) plant(in *planner.Input) {
	p := &in.Plant
	d.any(reflect.ValueOf(p).Elem())
	p.Currency, p.Zone, p.Units = pick(d, "", "EUR", "USD"), draw(d, zones), pick(d, quantity.Metric, quantity.US)
	p.ArrivalQuantile, p.ServiceLevel = pick[quantity.Share](d, 0, 0.5, 0.8), pick[quantity.Share](d, 0, 0.95, 1-0x1p-53)
	p.DailyDays, p.Weeks, p.FrozenDays = draw(d, rapid.IntRange(0, 60)), draw(d, rapid.IntRange(0, 104)), draw(d, rapid.IntRange(0, 60))
	if p.Zone != "" {
		zone, err := time.LoadLocation(p.Zone)
		if err != nil {
			panic(err)
		}
		in.Calendar.Zone = zone
	}
}

func (d *drawing) feed(in *planner.Input, materials, grades, steps []string) {
	in.Materials = drawn(d, len(materials), func(i int, r *inventory.Material) {
		r.Code, r.Form, r.Polymer = materials[i], inventory.Form(pick(d, formSet...)), pick(d, "GPPS", "HIPS", "EPS")
		r.Source = pick(d, inventory.PostConsumer, inventory.PreConsumer, inventory.VirginSource, inventory.InHouse)
		r.BulkDensity = quantity.Density(draw(d, rapid.Float64Range(0, 1100)))
	})
	in.Grades = drawn(d, len(grades), func(i int, r *inventory.Grade) {
		r.Code = grades[i]
		if r.MFRMax > 0 {
			r.MFRMin = min(r.MFRMin, r.MFRMax)
		}
	})
	recipes := d.pairs(grades, materials)
	in.Ingredients = drawn(d, len(recipes), func(i int, r *inventory.Ingredient) {
		r.Grade, r.Material = recipes[i][0], recipes[i][1]
		r.MinShare, r.MaxShare = min(r.MinShare, r.MaxShare), max(r.MinShare, r.MaxShare)
	})
	in.Steps = drawn(d, len(steps), func(i int, r *yield.Step) { r.Code, r.Yield = steps[i], max(r.Yield, 5e-324) })
	overrides := d.pairs(steps, materials)
	in.Overrides = drawn(d, len(overrides), func(i int, r *yield.Override) {
		r.Step, r.Material, r.Yield = overrides[i][0], overrides[i][1], max(r.Yield, 5e-324)
	})
}

func (d *drawing) floor(in *planner.Input, grades, profiles, machines []string) {
	in.Profiles = drawn(d, len(profiles), func(i int, r *lines.Profile) {
		r.Code, r.Grade, r.PerMetre, r.Dies = profiles[i], pick(d, grades...), max(r.PerMetre, 5e-324), max(r.Dies, 1)
	})
	in.Lines = drawn(d, len(machines), func(i int, r *lines.Line) {
		r.Code, r.Mounted = machines[i], d.orNone(profiles)
		r.State = pick(d, lines.Running, lines.Ready, lines.Down, lines.Uncommissioned)
		r.DownUntil = noZero(r.DownUntil)
	})
	rates := d.pairs(machines, profiles)
	in.Fits = drawn(d, len(rates), func(i int, r *lines.Fit) {
		r.Line, r.Profile, r.Strands = rates[i][0], rates[i][1], max(r.Strands, 1)
		r.Availability, r.Quality, r.Melt = max(r.Availability, 5e-324), max(r.Quality, 5e-324), max(r.Melt, 5e-324)
	})
	families := d.pairs([]string{"", "*", "a", " "}, []string{"*", "a", "[b]"})
	in.Changeovers = drawn(d, len(families), func(i int, r *lines.Changeover) { r.From, r.To = families[i][0], families[i][1] })
}

// shownTwice are instants near the end of summer time, in Berlin, Chicago and on Lord Howe Island.
var shownTwice = []time.Time{time.Date(2026, 10, 25, 0, 10, 0, 0, time.UTC), time.Date(2026, 11, 1, 6, 15, 0, 0, time.UTC), time.Date(2026, 4, 4, 14, 40, 0, 0, time.UTC)}

func (d *drawing) calendar(in *planner.Input, machines []string) {
	cal := &in.Calendar
	cal.Shifts = drawn(d, draw(d, rapid.IntRange(0, 4)), func(i int, r *calendar.Shift) {
		r.Code = fmt.Sprint("s", i, r.Code)
		r.Start = time.Duration(draw(d, rapid.IntRange(0, 1439))) * time.Minute
		r.End = r.Start + time.Duration(draw(d, rapid.IntRange(1, 1440)))*time.Minute
	})
	cal.Closures = drawn(d, draw(d, rapid.IntRange(0, 3)), func(i int, r *calendar.Closure) {
		r.Code = fmt.Sprint("h", i, r.Code)
		r.Span.From, r.Span.To = d.span()
	})
	zone := cal.Zone
	if zone == nil {
		zone = time.UTC
	}
	cal.Outages = drawn(d, draw(d, rapid.IntRange(0, 4)), func(i int, r *calendar.Outage) {
		r.Code, r.Machine = fmt.Sprint("m", i, r.Code), pick(d, machines...)
		r.From = pick(d, shownTwice...).Add(time.Duration(draw(d, rapid.IntRange(0, 180))) * time.Minute).In(zone)
		r.To = r.From.Add(time.Duration(draw(d, rapid.IntRange(1, 100000))) * time.Minute)
		if draw(d, rapid.Bool()) {
			r.To = r.From.Add(50 * time.Minute)
		}
	})
}

func (d *drawing) supply(in *planner.Input, materials, grades, profiles []string) {
	suppliers, lanes := d.some(), d.some()
	in.Suppliers = drawn(d, len(suppliers), func(i int, r *inventory.Supplier) { r.Code = suppliers[i] })
	in.Lanes = drawn(d, len(lanes), func(i int, r *inventory.Lane) {
		r.Code, r.Supplier, r.Material, r.Load = lanes[i], pick(d, suppliers...), pick(d, materials...), max(r.Load, 5e-324)
		r.Mode = pick(d, inventory.Van, inventory.Trailer, inventory.Container, inventory.Container20, inventory.Bulk)
		r.LeadTime.Distribution = pick(d, inventory.Fixed, inventory.Normal, inventory.Lognormal, inventory.Gamma)
		r.LeadTime.Mean, r.Currency = max(r.LeadTime.Mean, 5e-324), pick(d, "", "GBP")
		if r.From, r.To = 0, 0; draw(d, rapid.Bool()) {
			r.From, r.To = d.span()
		}
	})
	in.Deliveries = drawn(d, draw(d, rapid.IntRange(0, 4)), func(i int, r *inventory.Delivery) {
		r.Code, r.Lane, r.Material, r.Mass = fmt.Sprint("d", i, r.Code), d.orNone(lanes), pick(d, materials...), max(r.Mass, 5e-324)
		r.Status = pick(d, inventory.Ordered, inventory.Afloat, inventory.AtPort, inventory.OnRoad, inventory.Received, inventory.Rejected)
		if r.Ordered, r.ETA = d.span(); draw(d, rapid.Bool()) {
			r.Ordered = 0
		}
		r.ETA = noZero(r.ETA)
	})
	in.Lots = drawn(d, draw(d, rapid.IntRange(0, 4)), func(i int, r *inventory.Lot) {
		r.Code, r.Material, r.Supplier = fmt.Sprint("l", i, r.Code), pick(d, materials...), d.orNone(suppliers)
	})
	counted := append(d.pairs([]string{string(inventory.PelletStock), string(inventory.RegrindStock)}, grades), d.pairs([]string{string(inventory.ProfileStock)}, profiles)...)
	in.Stock = drawn(d, len(counted), func(i int, r *inventory.Stock) {
		if r.Kind, r.Code = inventory.StockKind(counted[i][0]), counted[i][1]; r.Kind == inventory.ProfileStock {
			r.Mass = 0
		} else {
			r.Length = 0
		}
	})
}
