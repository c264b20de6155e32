package audit

import (
	"math"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Severity is how bad a finding is.
type Severity int

// The severities.
const (
	Wrong    Severity = iota // the plan can't be carried out, or misstates something
	Doubtful                 // a limit is broken at a price, and the plan says so
)

// String is the severity in a word.
func (s Severity) String() string {
	if s == Doubtful {
		return "doubtful"
	}
	return "wrong"
}

// Finding is a rule that the plan does not keep to at a place. Where two numbers are compared Want is what the
// rule allows or the audit computes and Have is what the plan says, both in Unit; else Note says what is the matter.
type Finding struct {
	Rule     Rule
	Severity Severity
	Place    string       // such as "line L1, profile SK80"
	Bucket   int          // -1 if it is not of one
	Day      calendar.Day // first day of the bucket, or the day it is about; 0 if none
	Want     float64
	Have     float64
	Unit     string // "" where nothing is compared
	Note     string
}

// Tally is how often a rule was checked and found broken.
type Tally struct {
	Rule    Rule
	Checked int
	Found   int
}

// Report is the outcome of an audit. Rules lists every rule, in a fixed order; findings are in the order found.
type Report struct {
	Rules    []Tally
	Findings []Finding
	// Recosted is the costs computed from the plan's lists; it takes the plan's own word for the lateness that lists do not settle.
	Recosted quantity.Money
	// Difference is Recosted − the plan's Objective.
	Difference quantity.Money
}

// OK reports whether nothing is wrong. Doubtful findings do not count.
func (r Report) OK() bool { return r.Count(Wrong) == 0 }

// Count is the number of findings of a severity.
func (r Report) Count(s Severity) int {
	n := 0
	for _, f := range r.Findings {
		if f.Severity == s {
			n++
		}
	}
	return n
}

// Checked is the number of checks made.
func (r Report) Checked() int {
	n := 0
	for _, t := range r.Rules {
		n += t.Checked
	}
	return n
}

// auditor holds a plan, its book ready for look-ups, and what was found so far.
type auditor struct {
	book
	p      *planner.Plan
	tally  map[Rule]*Tally
	report Report

	uses   map[lineBucket]planner.LineUse
	runs   map[lineBucket][]planner.Run // in the order they run
	hours  map[lineBucket]num           // hours that the line has, by the audit's own count
	paid   map[string]float64           // the plan's costs by name
	broken []brokenPin
	bills  map[string]num // money by cost name: what the lists come to

	sales, lateLow, lateHigh, unmetLow, unmetHigh num
}

type lineBucket struct {
	line   string
	bucket int
}

// Plan audits p against the book in. It changes neither. A plan that is not even complete (a row missing, an
// unknown code, buckets with gaps) is reported as such and not simulated.
func Plan(in *planner.Input, p *planner.Plan) Report { return plan(in, p, nil) }

func plan(in *planner.Input, p, released *planner.Plan) Report {
	a := &auditor{book: read(in), p: p, tally: map[Rule]*Tally{}, bills: map[string]num{}, paid: map[string]float64{}}
	a.report.Rules = make([]Tally, len(rules))
	for i, r := range rules {
		a.report.Rules[i].Rule = r.rule
		a.tally[r.rule] = &a.report.Rules[i]
	}
	for _, c := range p.Costs {
		a.paid[c.Name] += float64(c.Amount)
	}
	if a.checkShape(); len(a.report.Findings) > 0 {
		return a.report
	}
	a.checkLines()
	a.checkChanges(released)
	a.checkFeed()
	a.checkDemand()
	a.checkNeed()
	a.checkAnswers()
	a.checkMoney()
	return a.report
}

// place is where something is checked. Bucket -1 is none.
type place struct {
	name   string
	bucket int
}

func (a *auditor) at(bucket int, name string) place { return place{name, bucket} }

func (a *auditor) find(r Rule, w place, f Finding) {
	a.tally[r].Found++
	f.Rule, f.Place, f.Bucket = r, w.name, w.bucket
	if f.Day == 0 && w.bucket >= 0 && w.bucket < len(a.p.Buckets) {
		f.Day = a.p.Buckets[w.bucket].Span.From
	}
	a.report.Findings = append(a.report.Findings, f)
}

// holds checks that something is so.
func (a *auditor) holds(r Rule, w place, ok bool, note string) bool {
	a.tally[r].Checked++
	if !ok {
		a.find(r, w, Finding{Note: note})
	}
	return ok
}

// atMost checks have ≤ want.
func (a *auditor) atMost(r Rule, w place, have, want num, tolerance float64, unit, note string) bool {
	a.tally[r].Checked++
	ok := have.sub(want).float() <= tolerance
	if !ok {
		a.find(r, w, Finding{Want: want.float(), Have: have.float(), Unit: unit, Note: note})
	}
	return ok
}

// atLeast checks have ≥ want.
func (a *auditor) atLeast(r Rule, w place, have, want num, tolerance float64, unit, note string) bool {
	a.tally[r].Checked++
	ok := want.sub(have).float() <= tolerance
	if !ok {
		a.find(r, w, Finding{Want: want.float(), Have: have.float(), Unit: unit, Note: note})
	}
	return ok
}

// equal checks have = want.
func (a *auditor) equal(r Rule, w place, have, want num, tolerance float64, unit, note string) bool {
	a.tally[r].Checked++
	ok := math.Abs(have.sub(want).float()) <= tolerance
	if !ok {
		a.find(r, w, Finding{Want: want.float(), Have: have.float(), Unit: unit, Note: note})
	}
	return ok
}

// admitted checks have ≤ want for a limit that may be broken at a price: doubtful if the plan paid, else wrong.
func (a *auditor) admitted(r Rule, w place, have, want num, tolerance float64, unit, note string, paid bool) {
	a.tally[r].Checked++
	if have.sub(want).float() <= tolerance {
		return
	}
	f := Finding{Want: want.float(), Have: have.float(), Unit: unit, Note: note}
	if paid {
		f.Severity = Doubtful
	}
	a.find(r, w, f)
}
