// Package html writes a plan as one page that needs nothing beside itself: no script, no font, no image from elsewhere. It prints on
// A4 and Letter, follows the reader's light or dark, and can be read without seeing the charts. Names from the book are inert.
package html

import (
	"embed"
	"fmt"
	"html/template"
	"io"

	"feedline/cmd/internal/report/chart"
	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/forecast"
)

//go:embed page.css page.gohtml
var files embed.FS

var page = template.Must(template.New("page.gohtml").ParseFS(files, "page.gohtml"))

// CSS is the style of our pages.
func CSS() template.CSS {
	b, err := files.ReadFile("page.css")
	if err != nil {
		panic("html: the style is not embedded")
	}
	return template.CSS(b)
}

// Options say how. The zero value is metric, without control charts.
type Options struct {
	Units    quantity.System
	Moved    bool  // the book has changed since the plan was made
	Number   int64 // of the plan in its book; 0 = none
	Controls []chart.Control
	Records  *estimates.Report // what the records say; nil = they were not looked at
	Forecast *forecast.Result  // of the plan; nil = none was made
}

func (o Options) view() view.Options {
	return view.Options{Units: o.Units, Moved: o.Moved, Records: o.Records}
}

// document is a page as the template wants it.
type document struct {
	Heading, Plant, Facts string
	CSS                   template.CSS
	Sections              []section
	Cautions              []string
}

type section struct {
	ID, Title string
	Page      bool // begins a new page in print
	Parts     []part
}

// part is one of its fields.
type part struct {
	Answer  []view.Statement
	Caution []string
	Figure  *chart.Figure
	Table   *table
	Wall    *wall
}

// Write writes the page.
func Write(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	d := document{Heading: p.Heading(), Plant: orWord(p.Plant, "Plan"), Facts: facts(p, opt), CSS: CSS(), Cautions: view.Cautions, Sections: sections(in, p, opt)}
	return page.Execute(w, d)
}

func orWord(s, word string) string {
	if s == "" {
		return word
	}
	return s
}

// facts is the line under the plant's name.
func facts(p *planner.Plan, opt Options) string {
	s := "Extrusion and feed plan"
	if n := len(p.Buckets); n > 0 {
		first, last := p.Buckets[0].Span.From, p.Buckets[n-1].Span.To-1
		s += fmt.Sprintf(", %s to %s", view.Date(first), view.Date(last))
	}
	if opt.Number > 0 {
		s += fmt.Sprintf("; plan %d", opt.Number)
	}
	return s + "; made " + p.Made.Format("2 Jan 2006 15:04 MST") + "; money in " + orWord(p.Currency, "the plant's currency")
}

// sections are the page's, in the order of the questions: what to do, when short, what to run, what comes, what is late, what it earns.
func sections(in *planner.Input, p *planner.Plan, opt Options) []section {
	t := map[string]view.Table{}
	for _, v := range view.All(in, p, opt.view()) {
		t[v.Name] = v
	}
	for _, v := range view.RecordsInBrief(in, p, opt.view()) {
		t[v.Name] = v
	}
	figures := map[string]*chart.Figure{}
	var needs, controls []part
	for _, f := range chart.All(in, p, chart.Options{Units: opt.Units, Controls: opt.Controls}) {
		switch {
		case len(f.ID) > 5 && f.ID[:5] == "need-":
			needs = append(needs, part{Figure: &f})
		case len(f.ID) > 8 && f.ID[:8] == "control-":
			controls = append(controls, part{Figure: &f})
		default:
			figures[f.ID] = &f
		}
	}
	tab := func(name string) part { return part{Table: tableOf(t[name])} }
	list := []section{
		{ID: "answer", Title: "The answer", Parts: []part{{Answer: view.Answer(in, p, opt.view())}, {Caution: view.Cautions[:1]}}},
		{ID: "feed", Title: "Short of feed, and what to order", Parts: append([]part{tab("shortages"), tab("order-by")}, needs...)},
		{ID: "lines", Title: "Lines to run", Page: true, Parts: []part{{Figure: figures["lines"]}, {Figure: figures["output"]}}},
		{ID: "runs", Title: "Run list", Parts: runParts(in, p, opt)},
		{ID: "deliveries", Title: "Deliveries", Page: true, Parts: []part{{Figure: figures["arrivals"]}, tab("deliveries"), {Figure: figures["cover"]}}},
		{ID: "orders", Title: "Late orders", Parts: []part{tab("late-orders")}},
		{ID: "limits", Title: "What bounds output, and what more of it would bring", Page: true, Parts: []part{tab("line-values"), tab("bound-by")}},
		{ID: "money", Title: "Money and proof", Page: true, Parts: []part{tab("margin"), tab("costs"), tab("proof")}},
		{ID: "weeks", Title: "Week by week", Page: true, Parts: []part{{Table: tableOf(view.NeedHaveWeeks(in, p, opt.view()))}, {Table: tableOf(view.PelletWeeks(in, p, opt.view()))}}},
	}
	if fans := chart.Fans(opt.Forecast, opt.Units); len(fans) > 0 {
		sure := section{ID: "range", Title: "How sure that is", Page: true, Parts: []part{{Answer: view.Range(opt.Forecast, opt.Units)}}}
		for i := range fans {
			sure.Parts = append(sure.Parts, part{Figure: &fans[i]})
		}
		risk := view.Risk(opt.Forecast)
		sure.Parts = append(sure.Parts, part{Table: tableOf(risk)})
		list = append(list, sure)
	}
	if len(controls) > 0 || len(p.Estimates) > 0 || opt.Records != nil {
		list = append(list, section{ID: "records", Title: "What the records say", Page: true, Parts: append([]part{tab("estimates"), tab("control-charts")}, controls...)})
	}
	return list
}
