package reporttest

import (
	"math"
	"reflect"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner"
)

// Full is Sample with names, lanes and deliveries, and with levels that follow from one another as a plan's do.
func Full() (*planner.Input, *planner.Plan) {
	in, p := Sample()
	in.Plant.ArrivalQuantile = 0.8
	in.Profiles = []lines.Profile{{Code: "SK80", Name: "Skirting 80", Grade: "WH", DieFamily: "SK", PerMetre: 0.38}, {Code: "SL30", Name: "Slat 30", Grade: "GY", DieFamily: "SL", PerMetre: 0.15}}
	in.Fits = []lines.Fit{{Line: "L1", Profile: "SK80", Strands: 1}, {Line: "L1", Profile: "SL30", Strands: 2}, {Line: "L2", Profile: "SL30", Strands: 2}}
	in.Lines[0].Name, in.Lines[0].Mounted, in.Lines[0].ScrewMM = "Line 1", "SK80", 75
	in.Lines[1].Name, in.Lines[1].ScrewMM, in.Lines[1].Note = "Line 2", 120, "Stands cold since autumn"
	in.Suppliers = []inventory.Supplier{{Code: "NORTH", Name: "North Sorters"}}
	in.Lanes = []inventory.Lane{{Code: "WH-ROAD", Supplier: "NORTH", Material: "INW"}, {Code: "WH-SEA", Supplier: "NORTH", Material: "INW"}}
	in.Deliveries = []inventory.Delivery{
		{Code: "D-7", Lane: "WH-ROAD", Material: "INW", Mass: 21000, Ordered: Monday - 9, ETA: Monday + 2, Spread: 2, Status: inventory.OnRoad},
		{Code: "D-8", Material: "INM", Mass: 18000, ETA: Monday - 1, Late: true, Status: inventory.AtPort},
		{Code: "D-6", Lane: "WH-ROAD", Material: "INW", Mass: 21000, ETA: Monday - 3, Status: inventory.Received},
	}
	use(p)
	chain(p)
	return in, p
}

// use makes the use of the lines follow from the runs: hours, starts, and the die that is on at the end of each bucket.
func use(p *planner.Plan) {
	mounted := map[string]string{"L1": "SK80"}
	for i := range p.Lines {
		u := &p.Lines[i]
		u.Available = quantity.Hours(24 * p.Buckets[u.Bucket].Span.Days())
		if u.Started {
			u.Startup = 5
		}
		for _, r := range p.Runs {
			if r.Line == u.Line && r.Bucket == u.Bucket {
				u.Run, u.Setup, mounted[u.Line] = u.Run+r.Hours, u.Setup+r.Setup, r.Profile
			}
		}
		u.Mounted = mounted[u.Line]
	}
}

// chain makes the levels follow from one another.
func chain(p *planner.Plan) {
	pellets, yard, owed := map[string]quantity.Mass{"GY": 9000, "WH": 12000}, map[string]quantity.Mass{"INM": 40000, "INW": 30000}, map[string]quantity.Mass{}
	for i := range p.Pellets {
		x := &p.Pellets[i]
		x.Made, x.Used = quantity.Mass(2000+300*i), quantity.Mass(2500+100*i)
		x.Opening, x.Closing = pellets[x.Grade], pellets[x.Grade]+x.Made-x.Used
		pellets[x.Grade] = x.Closing
	}
	for i := range p.Yard {
		x := &p.Yard[i]
		x.Arrived, x.Drawn = quantity.Mass(21000*(i%3)), quantity.Mass(4000+200*i)
		x.Opening, x.Closing = yard[x.Material], yard[x.Material]+x.Arrived-x.Drawn
		yard[x.Material] = x.Closing
	}
	for i := range p.NeedHave {
		x := &p.NeedHave[i]
		owed[x.Grade] += x.Short
		x.Cumulative = owed[x.Grade]
	}
	rack := quantity.Length(100)
	for i := range p.Rack {
		x := &p.Rack[i]
		x.Opening, x.Closing = rack, rack+x.Made-x.Shipped
		rack = x.Closing
	}
	// Sorted as plans are, by code and then by bucket.
	sortBy(p.Pellets, func(x planner.PelletLevel) string { return x.Grade })
	sortBy(p.Yard, func(x planner.YardLevel) string { return x.Material })
	sortBy(p.NeedHave, func(x planner.NeedHave) string { return x.Grade })
	sortBy(p.Lines, func(x planner.LineUse) string { return x.Line })
	sortBy(p.Runs, func(x planner.Run) string { return x.Line })
}

// Names are what no form may take for anything but a name: elements, formulas, ends of lines and of properties, a very long word.
var Names = []string{`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `=HYPERLINK("http://x","y")`, "+1;DTSTART:19700101\r\nBEGIN:VEVENT", `@SUM(A1), \n; "q"`,
	"{{.}}</style></title>", "naïve – 漢字 ﬁ\u202e", strings.Repeat("W", 300), "-2+3\t\x00\x1b[31m"}

// Hostile is Full with every name replaced by one of Names, followed by the name it had.
func Hostile() (*planner.Input, *planner.Plan) {
	in, p := Full()
	n := 0
	names := map[string]string{}
	rename := func(v reflect.Value) {
		s := v.String()
		if s == "" || v.Type() != reflect.TypeFor[string]() || s == "EUR" {
			return
		}
		if _, ok := names[s]; !ok {
			names[s] = Names[n%len(Names)] + s
			n++
		}
		v.SetString(names[s])
	}
	visit(reflect.ValueOf(in).Elem(), reflect.String, rename)
	visit(reflect.ValueOf(p).Elem(), reflect.String, rename)
	return in, p
}

// Odd is Full with every figure of the plan replaced by x, such as NaN.
func Odd(x float64) (*planner.Input, *planner.Plan) {
	in, p := Full()
	visit(reflect.ValueOf(p).Elem(), reflect.Float64, func(v reflect.Value) { v.SetFloat(x) })
	return in, p
}

// OddFigures are figures that no form may choke on.
var OddFigures = []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1e300}

// visit calls f for every value of a kind that can be set, in v and below.
func visit(v reflect.Value, kind reflect.Kind, f func(reflect.Value)) {
	switch v.Kind() {
	case kind:
		f(v)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Field(i).CanSet() {
				visit(v.Field(i), kind, f)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			visit(v.Index(i), kind, f)
		}
	}
}
