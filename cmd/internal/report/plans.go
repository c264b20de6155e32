package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"

	"feedline/inventory/quantity"
)

// PlansSchema names the JSON of a list of plans. Fields are only ever added under the same number.
const PlansSchema = "feedline.plans/1"

// PlanRow is a stored plan in a list.
type PlanRow struct {
	ID         int64
	Saved      time.Time
	Start      string
	Stop       string
	Objective  float64 // NaN if there is none, like Gap
	Gap        float64
	Note       string
	ReleasedAt time.Time // zero if it was never released
	ReleasedBy string
	Promise    bool // it is the one released last
}

// Plans writes a list of plans, as they come.
func Plans(w io.Writer, rows []PlanRow, opt Options) error {
	pg := page{opt: opt}
	if len(rows) == 0 {
		pg.add(normal, "The book holds no plan yet.")
		return pg.writeTo(w)
	}
	g := grid{columns: []column{{head: "plan"}, {head: "saved (UTC)", left: true}, {head: "starts", left: true, rank: 1}, {head: "cost"}, {head: "gap", rank: 2}, {head: "stopped", left: true, rank: 4},
		{head: "released", left: true}, {head: "note", left: true, rank: 3}}}
	for _, r := range rows {
		released := ""
		switch {
		case r.Promise:
			released = "the promise, by " + r.ReleasedBy
		case !r.ReleasedAt.IsZero():
			released = "once, " + r.ReleasedAt.Format("2 Jan")
		}
		money, gap := "", ""
		if !math.IsNaN(r.Objective) {
			money = quantity.Grouped(r.Objective, 0)
		}
		if !math.IsNaN(r.Gap) && !math.IsInf(r.Gap, 0) {
			gap = fmt.Sprintf("%.2f %%", 100*r.Gap)
		}
		g.add(fmt.Sprint(r.ID), r.Saved.UTC().Format("2006-01-02 15:04"), r.Start, money, gap, r.Stop, released, r.Note)
	}
	pg.table(g)
	return pg.writeTo(w)
}

type plansDocument struct {
	Schema string    `json:"schema"`
	Plans  []planRow `json:"plans"`
}

type planRow struct {
	ID         int64    `json:"plan"`
	Saved      string   `json:"saved"`
	Start      string   `json:"start"`
	Stop       string   `json:"stop"`
	Objective  *float64 `json:"objective_money"`
	Gap        *float64 `json:"gap_share"`
	Note       string   `json:"note"`
	ReleasedAt *string  `json:"released_at"`
	ReleasedBy string   `json:"released_by"`
	Promise    bool     `json:"promise"`
}

// PlansJSON writes a list of plans as one document of the schema described in SCHEMA.md.
func PlansJSON(w io.Writer, rows []PlanRow) error {
	doc := plansDocument{PlansSchema, list(rows, func(r PlanRow) planRow {
		var at *string
		if !r.ReleasedAt.IsZero() {
			s := r.ReleasedAt.UTC().Format(time.RFC3339)
			at = &s
		}
		return planRow{r.ID, r.Saved.UTC().Format(time.RFC3339), r.Start, r.Stop, number(r.Objective), number(r.Gap), r.Note, at, r.ReleasedBy, r.Promise}
	})}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(doc)
}
