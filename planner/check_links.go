package planner

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/lines"
)

// index is the codes of a table.
type index struct {
	table string
	from  []string // the tables that its codes are of
	what  string   // what a code of it is called in a message
	codes []string
	has   map[string]bool
}

func indexed[T any](table, what string, list []T, code func(T) string) index {
	x := index{table: table, from: []string{table}, what: what, has: map[string]bool{}}
	for _, r := range list {
		x.codes = append(x.codes, code(r))
		x.has[code(r)] = true
	}
	return x
}

// refer adds a fault if a record names a code that x does not have.
func (c *checker) refer(table, key, field, code string, x index) {
	if x.has[code] || c.unread != nil && slices.ContainsFunc(x.from, c.unread) {
		return
	}
	p := Problem{Table: table, Key: key, Field: FieldName(table, field), Value: quoted(code),
		Allowed: "the code of " + x.what + " in " + x.table}
	switch near, ok := Nearest(code, x.codes); {
	case ok:
		p.Remedy = fmt.Sprintf("did you mean %q?", near)
	case len(x.codes) == 0:
		p.Remedy = x.table + " is empty: fill it in first"
	case len(x.codes) <= 8:
		p.Remedy = "there are: " + strings.Join(x.codes, ", ")
	default:
		p.Remedy = "enter it in " + x.table + " or correct the code"
	}
	c.add(p)
}

// links checks that every code that a record names is there.
func (c *checker) links() {
	in := c.in
	materials := indexed(TableMaterials, "a material", in.Materials, func(r inventory.Material) string { return r.Code })
	grades := indexed(TableGrades, "a grade", in.Grades, func(r inventory.Grade) string { return r.Code })
	profiles := indexed(TableProfiles, "a profile", in.Profiles, func(r lines.Profile) string { return r.Code })
	machines := indexed(TableLines, "a line", in.Lines, func(r lines.Line) string { return r.Code })
	c.feedLinks(materials, grades)
	c.supplyLinks(materials)
	c.stockLinks(grades, profiles)
	c.floorLinks(grades, profiles, machines)
	for _, r := range in.Orders {
		c.refer(TableOrders, r.Code, "Profile", r.Profile, profiles)
	}
	for _, r := range in.Forecasts {
		c.refer(TableForecast, forecastKey(r), "Profile", r.Profile, profiles)
	}
	for _, r := range in.Pins {
		c.refer(TablePins, r.Code, "Line", r.Line, machines)
		if r.Profile != "" {
			c.refer(TablePins, r.Code, "Profile", r.Profile, profiles)
		}
	}
}

func (c *checker) feedLinks(materials, grades index) {
	steps := index{table: TableSteps, from: []string{TableSteps}, what: "a step", has: map[string]bool{}}
	for _, s := range c.in.Steps {
		steps.codes, steps.has[s.Code] = append(steps.codes, s.Code), true
	}
	for _, r := range c.in.Ingredients {
		c.refer(TableRecipes, ingredientKey(r), "Grade", r.Grade, grades)
		c.refer(TableRecipes, ingredientKey(r), "Material", r.Material, materials)
	}
	for _, r := range c.in.Overrides {
		c.refer(TableStepYields, overrideKey(r), "Step", r.Step, steps)
		c.refer(TableStepYields, overrideKey(r), "Material", r.Material, materials)
	}
}

func (c *checker) supplyLinks(materials index) {
	suppliers := indexed(TableSuppliers, "a supplier", c.in.Suppliers, func(r inventory.Supplier) string { return r.Code })
	lanes := indexed(TableLanes, "a lane", c.in.Lanes, func(r inventory.Lane) string { return r.Code })
	for _, r := range c.in.Lanes {
		c.refer(TableLanes, r.Code, "Supplier", r.Supplier, suppliers)
		c.refer(TableLanes, r.Code, "Material", r.Material, materials)
	}
	for _, r := range c.in.Deliveries {
		c.refer(TableDeliveries, r.Code, "Material", r.Material, materials)
		if r.Lane != "" {
			c.refer(TableDeliveries, r.Code, "Lane", r.Lane, lanes)
		}
	}
	for _, r := range c.in.Lots {
		c.refer(TableLots, r.Code, "Material", r.Material, materials)
		if r.Supplier != "" {
			c.refer(TableLots, r.Code, "Supplier", r.Supplier, suppliers)
		}
	}
}

func (c *checker) stockLinks(grades, profiles index) {
	for _, r := range c.in.Stock {
		switch r.Kind {
		case inventory.PelletStock, inventory.RegrindStock:
			c.refer(TableStock, stockKey(r), "Code", r.Code, grades)
		case inventory.ProfileStock:
			c.refer(TableStock, stockKey(r), "Code", r.Code, profiles)
		}
	}
}

func (c *checker) floorLinks(grades, profiles, machines index) {
	for _, r := range c.in.Profiles {
		c.refer(TableProfiles, r.Code, "Grade", r.Grade, grades)
	}
	for _, r := range c.in.Lines {
		if r.Mounted != "" {
			c.refer(TableLines, r.Code, "Mounted", r.Mounted, profiles)
		}
	}
	for _, r := range c.in.Fits {
		c.refer(TableRates, fitKey(r), "Line", r.Line, machines)
		c.refer(TableRates, fitKey(r), "Profile", r.Profile, profiles)
	}
	both := index{table: "lines or steps", from: []string{TableLines, TableSteps}, what: "a line or a step", codes: slices.Clone(machines.codes), has: map[string]bool{}}
	for _, s := range c.in.Steps {
		both.codes = append(both.codes, s.Code)
	}
	for _, code := range both.codes {
		both.has[code] = true
	}
	for _, r := range c.in.Calendar.Outages {
		c.refer(TableOutages, r.Code, "Machine", r.Machine, both)
	}
}

// Nearest is the word of list that takes the fewest slips of the keyboard to become given (letters put in, left out, replaced
// or swapped with the next, case not counted), if that is no more than a third of its letters, at least one; else false.
func Nearest(given string, list []string) (string, bool) {
	best, at := 1+max(1, len([]rune(given))/3), ""
	for _, w := range list {
		if d := slips(strings.ToLower(given), strings.ToLower(w)); d < best {
			best, at = d, w
		}
	}
	return at, at != ""
}

// slips is the optimal string alignment distance between a and b.
func slips(s, t string) int {
	a, b := []rune(s), []rune(t)
	if len(a) > maxWord || len(b) > maxWord {
		return math.MaxInt
	}
	d := make([][]int, len(a)+1)
	for i := range d {
		d[i] = make([]int, len(b)+1)
		d[i][0] = i
	}
	for j := range d[0] {
		d[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(a)][len(b)]
}

// maxWord is the longest word, in letters, that is compared.
const maxWord = 60
