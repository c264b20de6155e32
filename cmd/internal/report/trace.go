package report

import (
	"fmt"
	"io"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/records"
)

// Lot writes what became of a lot.
func Lot(w io.Writer, g records.Genealogy, opt Options) error {
	p := &page{opt: opt}
	kg := func(m quantity.Mass) string { return together(m.Format(opt.Units, 1)) }
	p.add(heading, "Lot %s", g.Lot)
	if g.Receipt != nil {
		r := g.Receipt.Record.(records.Receipt)
		p.wrap(normal, fmt.Sprintf("received %s by ticket %s: %s of %s (%s, %s) from %s; entry %d by %s", r.Day, r.Code, kg(r.Net), r.Material, r.Form, r.Source, orDash(r.Supplier), g.Receipt.ID, g.Receipt.Who))
		p.wrap(normal, "results: "+resultsText(r.Results()))
	} else {
		p.add(normal, "no receipt is recorded: it was in the book before")
	}
	for _, e := range g.Tests {
		t := e.Record.(records.Test)
		p.wrap(normal, fmt.Sprintf("tested %s (%s): %s %s", t.Day, t.Code, resultsText(t.Results()), t.Decision))
	}
	for _, e := range g.Processes {
		r := e.Record.(records.Process)
		for _, d := range r.Lots {
			if d.Lot == g.Lot {
				p.add(normal, "drawn %s by %s in %s: %s%s", kg(d.Mass), r.Step, r.Code, r.Day, intoGrade(r.Grade))
			}
		}
	}
	p.add(normal, "")
	t := grid{columns: []column{{head: "where it is, silos and racks well mixed", left: true}, {head: "mass"}}}
	for _, x := range whereabouts(g) {
		t.add(x.name, x.mass.Format(opt.Units, 1))
	}
	p.table(t)
	if len(g.Into) > 0 {
		p.add(normal, "")
		t := grid{columns: []column{{head: "in profile", left: true}, {head: "line", left: true}, {head: "runs"}, {head: "of the lot"}, {head: "of " + opt.unit(lengthKind).Symbol + " made"}}}
		for _, m := range g.Into {
			t.add(m.Profile, m.Line, fmt.Sprint(m.Runs), m.Mass.Format(opt.Units, 1), opt.length(m.Length))
		}
		p.table(t)
	}
	return p.writeTo(w)
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func intoGrade(g string) string {
	if g == "" {
		return ", stays part of the lot"
	}
	return ", pellets of " + g
}

func resultsText(r map[measure]float64) string {
	var parts []string
	for _, m := range measures {
		if v, ok := r[m]; ok {
			parts = append(parts, together(strings.TrimSpace(fmt.Sprintf("%s %.6g %s", m, v, m.Unit()))))
		}
	}
	if len(parts) == 0 {
		return "none"
	}
	return strings.Join(parts, ", ")
}

// conversionText is the pellets made of what was taken; a dash where nothing was taken.
func conversionText(b records.GradeBalance) string {
	if !b.Converted() {
		return "-"
	}
	return b.Conversion.Format(1)
}

type whereMass struct {
	name string
	mass quantity.Mass
}

func whereabouts(g records.Genealogy) []whereMass {
	whole := "received"
	if g.Receipt == nil {
		whole = "in the book before"
	}
	return []whereMass{{"in the yard", g.Yard}, {"in silos", g.Silo}, {"in own regrind", g.Regrind}, {"in the rack", g.Rack}, {"shipped", g.Shipped},
		{"lost in steps and on lines", g.Lost}, {"taken off by counts", g.Counted}, {whole, g.Net}}
}

// Content writes a statement of recycled content.
func Content(w io.Writer, plant string, s records.Statement, opt Options) error {
	p := &page{opt: opt}
	p.wrap(heading, fmt.Sprintf("%s, recycled content of %s", plant, subject(s)))
	g := grid{columns: []column{{head: "product", left: true}, {head: "grade", left: true, rank: 4}, {head: opt.unit(lengthKind).Symbol}, {head: "mass"}, {head: "post-consumer"}, {head: "pre-consumer"}, {head: "recycled"},
		{head: "own regrind", rank: 3}, {head: "virgin", rank: 2}, {head: "unknown", rank: 1}}}
	row := func(name string, c records.Content) {
		share := func(i int) string {
			if c.Mass() <= 0 {
				return "-"
			}
			return quantity.Share(c.Parts[i].Mass / c.Mass()).Format(1)
		}
		g.add(name, c.Grade, opt.length(c.Length), c.Mass().Format(opt.Units, 0), c.PostConsumer.Format(1), c.PreConsumer.Format(1), c.Recycled.Format(1), share(3), share(2), share(4))
	}
	for _, c := range s.Products {
		row(c.Product, c)
	}
	row("all", s.Total)
	p.table(g)
	if len(s.Grades) > 0 {
		p.add(normal, "")
		p.add(heading, "Mass balance of pellets: opening + made + counted = used + closing")
		b := grid{columns: []column{{head: "grade", left: true}, {head: "opening"}, {head: "made"}, {head: "counted"}, {head: "used"}, {head: "closing"}, {head: "conversion"}}}
		m := func(x quantity.Mass) string { return x.Format(opt.Units, 0) }
		for _, x := range s.Grades {
			b.add(x.Grade, m(x.Opening), m(x.Made), m(x.Counted), m(x.Used), m(x.Closing), conversionText(x))
		}
		p.table(b)
		p.wrap(normal, fmt.Sprintf("The balance is reckoned back from what the book holds now; what was there before the records begin is of unknown origin. Lots drawn: %d", len(s.Lots)))
	}
	p.add(normal, "")
	p.wrap(normal, "Rule: "+records.ContentRule)
	p.wrap(normal, records.ContentCaution)
	return p.writeTo(w)
}

func subject(s records.Statement) string {
	if s.Order != "" {
		return "what left for order " + s.Order
	}
	return fmt.Sprintf("what was made %s to %s", s.Span.From, s.Span.To-1)
}

// Actuals writes plan against actual.
func Actuals(w io.Writer, in *planner.Input, a records.Actuals, against string, days bool, opt Options) error {
	p := &page{opt: opt}
	p.wrap(heading, fmt.Sprintf("%s, %s to %s, against %s", in.Plant.Name, a.Span.From, a.Span.To-1, against))
	if len(a.Gaps) > 0 && !a.Recorded() {
		p.wrap(warning, "! No run is recorded in these days: the gap is what the plan had, whether it was made or not.")
	}
	var all records.DayGap
	for _, x := range a.Gaps {
		all.Planned, all.Made = all.Planned+x.Planned, all.Made+x.Made
		all.PlannedScrap, all.Scrap = all.PlannedScrap+x.PlannedScrap, all.Scrap+x.Scrap
		all.PlannedFeed, all.Feed = all.PlannedFeed+x.PlannedFeed, all.Feed+x.Feed
	}
	kg := opt.unit(quantity.KindMass).Symbol
	g := grid{columns: []column{{head: "line", left: true}, {head: "profile", left: true}, {head: "planned " + opt.unit(lengthKind).Symbol}, {head: "made"}, {head: "gap"}, {head: "scrap " + kg}, {head: "planned", rank: 2}, {head: "feed " + kg, rank: 1}, {head: "planned", rank: 3}, {head: "mostly for", left: true}}}
	for _, x := range a.Gaps {
		g.add(x.Line, x.Profile, opt.length(x.Planned), opt.length(x.Made), opt.length(x.Made-x.Planned), opt.mass(x.Scrap), opt.mass(x.PlannedScrap), opt.mass(x.Feed), opt.mass(x.PlannedFeed), mainCause(x, opt))
	}
	g.add("all", "", opt.length(all.Planned), opt.length(all.Made), opt.length(all.Made-all.Planned), opt.mass(all.Scrap), opt.mass(all.PlannedScrap), opt.mass(all.Feed), opt.mass(all.PlannedFeed), "")
	p.table(g)
	if len(a.Causes) > 0 {
		p.add(normal, "")
		c := grid{columns: []column{{head: "cause of the gap", left: true}, {head: opt.unit(lengthKind).Symbol}}}
		for _, x := range a.Causes {
			c.add(x.Name, opt.length(x.Length))
		}
		p.table(c)
	}
	if days {
		p.add(normal, "")
		d := grid{columns: []column{{head: "day", left: true}, {head: "planned " + opt.unit(lengthKind).Symbol}, {head: "made"}, {head: "gap"}, {head: "scrap " + kg}, {head: "planned", rank: 2},
			{head: "feed " + kg}, {head: "planned", rank: 1}}}
		for _, x := range a.Days {
			d.add(weekday(x.Day), opt.length(x.Planned), opt.length(x.Made), opt.length(x.Made-x.Planned), opt.mass(x.Scrap), opt.mass(x.PlannedScrap), opt.mass(x.Feed), opt.mass(x.PlannedFeed))
		}
		p.table(d)
	}
	return p.writeTo(w)
}

// mainCause is the cause that explains most of a gap.
func mainCause(g records.Gap, opt Options) string {
	name, most := "", quantity.Length(0)
	for _, c := range g.Causes {
		if c.Length*(g.Made-g.Planned) > 0 && abs(c.Length) > abs(most) {
			name, most = c.Name, c.Length
		}
	}
	if name == "" {
		return ""
	}
	return name + " " + opt.length(most)
}

func abs[T ~float64](x T) T {
	if x < 0 {
		return -x
	}
	return x
}
