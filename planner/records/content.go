package records

import (
	"slices"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// ContentRule is how recycled content is counted; it stands on every statement.
const ContentRule = "ISO 14021:2016, 7.8: mass of post- and pre-consumer material ÷ mass of the product. Own regrind, reclaimed within the " +
	"same process, is in the product's mass and counts as none; so does what is of unknown origin. Chain of custody: controlled " +
	"blending (ISO 22095:2020), lots recorded as EN 15343:2007 asks; each silo and rack is taken to be well mixed."

// ContentCaution goes with it.
const ContentCaution = "What may be claimed, and how, differs by place and use: check the rules that hold where the product is sold."

// sources is the classes of a content trace; the last is unknown.
var sources = []inventory.Source{inventory.PostConsumer, inventory.PreConsumer, inventory.VirginSource, inventory.InHouse, "unknown"}

const inHouseClass, unknownClass = 3, 4

// Content is the recycled content of a product.
type Content struct {
	Product string // profile
	Grade   string
	Length  quantity.Length
	Parts   []inventory.Part // by source, "unknown" last
	inventory.Content
}

// Mass is the product's.
func (c Content) Mass() (sum quantity.Mass) {
	for _, p := range c.Parts {
		sum += p.Mass
	}
	return sum
}

// GradeBalance is a grade's pellets over a period: Opening + Made + Counted = Used + Closing.
type GradeBalance struct {
	Grade            string
	Opening, Closing quantity.Mass
	Made             quantity.Mass // pellets, of which by source In × Conversion
	Used             quantity.Mass // by the lines
	Counted          quantity.Mass // differences found, above 0 more
	In               []inventory.Part
	Conversion       quantity.Share // pellets made ÷ material taken; 0 without any
}

// Converted reports whether material was taken, so that there is a conversion.
func (b GradeBalance) Converted() bool {
	return slices.ContainsFunc(b.In, func(p inventory.Part) bool { return p.Mass > 0 })
}

// Statement is the recycled content of what was made in a period, or of what left for an order.
type Statement struct {
	Span     calendar.Span
	Order    string // "" for a period
	Products []Content
	Total    Content
	Grades   []GradeBalance // of a period
	Lots     []string       // that were drawn for it, of a period
}

// StateContent makes the statement of a period, or of an order if one is named. Entries need their moves and must reach back before the
// period: what the silos hold at its start is of what was recorded before, and of what in, the plant as the entries have left it, had before them.
func StateContent(in *planner.Input, list []Entry, span calendar.Span, order string) Statement {
	s := Statement{Span: span, Order: order}
	material := map[string]string{}
	for _, l := range in.Lots {
		material[l.Code] = l.Material
	}
	for _, e := range list {
		if r, ok := e.Record.(Receipt); ok && e.Counts() {
			material[r.Lot] = r.Material
		}
	}
	source := map[string]inventory.Source{}
	for _, m := range in.Materials {
		source[m.Code] = m.Source
	}
	classOf := func(lot string) int {
		for i, x := range sources[:inHouseClass] {
			if source[material[lot]] == x {
				return i
			}
		}
		return unknownClass
	}
	sums, metres := map[string][]float64{}, map[string]int64{}
	Trace(in, list, len(sources), classOf, inHouseClass, func(e Entry, m Move, part []float64) {
		profile := ""
		switch r := e.Record.(type) {
		case Run:
			if order == "" && m.Account == InProfile && span.Has(e.Head.Day) {
				profile = r.Profile
			}
		case Shipment:
			if order != "" && r.Order == order && m.Account == Outside {
				profile = r.Profile
			}
		}
		if profile == "" {
			return
		}
		if sums[profile] == nil {
			sums[profile] = make([]float64, len(sources))
		}
		for i, x := range part {
			sums[profile][i] += x
		}
		metres[profile] += m.Millis
	})
	total, length := make([]float64, len(sources)), quantity.Length(0)
	for _, p := range in.Profiles {
		if sums[p.Code] == nil {
			continue
		}
		s.Products = append(s.Products, contentOf(p.Code, p.Grade, LengthOf(metres[p.Code]), sums[p.Code]))
		length += LengthOf(metres[p.Code])
		for i, x := range sums[p.Code] {
			total[i] += x
		}
	}
	s.Total = contentOf("", "", length, total)
	if order == "" {
		s.balances(in, list, classOf)
	}
	return s
}

func contentOf(product, grade string, l quantity.Length, grams []float64) Content {
	c := Content{Product: product, Grade: grade, Length: l}
	for i, x := range grams {
		c.Parts = append(c.Parts, inventory.Part{Source: sources[i], Mass: quantity.Mass(x / 1000)})
	}
	c.Content = inventory.RecycledContent(c.Parts)
	return c
}

// balances adds up each grade's pellets over the period.
func (s *Statement) balances(in *planner.Input, list []Entry, classOf func(string) int) {
	at := map[string]*gradeSums{}
	before := opening(in, list)
	for _, g := range in.Grades {
		at[g.Code] = &gradeSums{in: make([]float64, len(sources)), opening: before[moveKey{InPellets, g.Code}]}
	}
	seen := map[string]bool{}
	for _, e := range InOrder(list) {
		for _, m := range e.Moves {
			g := at[m.Code]
			if m.Account != InPellets || g == nil {
				continue
			}
			switch {
			case e.Head.Day < s.Span.From:
				g.opening += m.Grams
				continue
			case !s.Span.Has(e.Head.Day):
				continue
			}
			switch r := e.Record.(type) {
			case Process:
				g.made += m.Grams
				g.took(r, classOf)
				for _, d := range r.Lots {
					if !seen[d.Lot] {
						seen[d.Lot] = true
						s.Lots = append(s.Lots, d.Lot)
					}
				}
			case Run:
				g.used -= m.Grams
			default:
				g.counted += m.Grams
			}
		}
	}
	for _, g := range in.Grades {
		s.Grades = append(s.Grades, at[g.Code].balance(g.Code))
	}
}

type gradeSums struct {
	opening, made, used, counted, all int64
	in                                []float64
}

func (g *gradeSums) took(r Process, classOf func(string) int) {
	for _, d := range r.Lots {
		g.in[classOf(d.Lot)] += float64(Grams(d.Mass))
	}
	g.in[inHouseClass] += float64(Grams(r.Regrind))
	g.all += r.InGrams()
}

func (g *gradeSums) balance(code string) GradeBalance {
	b := GradeBalance{Grade: code, Opening: MassOf(g.opening), Made: MassOf(g.made), Used: MassOf(g.used), Counted: MassOf(g.counted),
		Closing: MassOf(g.opening + g.made + g.counted - g.used)}
	for i, x := range g.in {
		b.In = append(b.In, inventory.Part{Source: sources[i], Mass: quantity.Mass(x / 1000)})
	}
	if g.all > 0 {
		b.Conversion = quantity.Share(float64(g.made) / float64(g.all))
	}
	return b
}
