package audit

import (
	"fmt"
	"math"

	"feedline/lines/calendar"
	"feedline/planner"
)

// checkShape looks whether the plan is all there, so that it can be simulated.
func (a *auditor) checkShape() {
	a.checkBuckets()
	a.checkCodes()
	a.checkRows()
	a.checkFinite()
	if len(a.report.Findings) == 0 {
		a.index()
	}
}

func (a *auditor) checkBuckets() {
	a.holds(Buckets, a.at(-1, "plan"), len(a.p.Buckets) > 0, "the plan has no bucket")
	next := a.p.Start
	for i, b := range a.p.Buckets {
		ok := b.Index == i && b.Span.From == next && b.Span.To > b.Span.From
		a.holds(Buckets, a.at(i, "plan"), ok, "the bucket does not begin where the one before ends, or is empty, or misnumbered")
		next = b.Span.To
	}
}

// known checks a code of the given kind, and that the bucket exists.
func known[T any](a *auditor, kind, code string, bucket int, table map[string]T) {
	_, ok := table[code]
	a.holds(Complete, a.at(bucket, kind+" "+code), ok, "the book has no such "+kind)
	a.holds(Complete, a.at(-1, kind+" "+code), bucket >= 0 && bucket < len(a.p.Buckets), fmt.Sprintf("the plan has no bucket %d", bucket))
}

// row is what a list has once for each code and bucket.
type row struct {
	code   string
	bucket int
}

// onceEach checks that a list has one row for each code of the book and each bucket.
func onceEach[T any](a *auditor, kind string, table map[string]T, list []row) {
	seen := map[row]bool{}
	for _, k := range list {
		known(a, kind, k.code, k.bucket, table)
		a.holds(Complete, a.at(k.bucket, kind+" "+k.code), !seen[k], "more than one row for the bucket")
		seen[k] = true
	}
	a.equal(Complete, a.at(-1, kind), whole(len(seen)), whole(len(table)*len(a.p.Buckets)), 0, "rows", "one row a bucket is wanted")
}

func (a *auditor) checkCodes() {
	for _, x := range a.p.Runs {
		known(a, "line", x.Line, x.Bucket, a.line)
		known(a, "profile", x.Profile, x.Bucket, a.profile)
		_, ok := a.fits[[2]string{x.Line, x.Profile}]
		a.holds(Complete, a.at(x.Bucket, runName(x)), ok, "the line can't make the profile")
	}
	for _, x := range a.p.Draws {
		known(a, "grade", x.Grade, x.Bucket, a.grade)
		if x.Material != "" {
			known(a, "material", x.Material, x.Bucket, a.material)
		}
	}
	for _, x := range a.p.Purchases {
		known(a, "lane", x.Lane, x.Bucket, a.lane)
	}
	for _, x := range a.p.Lines {
		if x.Mounted != "" {
			known(a, "profile", x.Mounted, x.Bucket, a.profile)
		}
	}
	for _, x := range a.p.Shortages {
		known(a, "grade", x.Grade, 0, a.grade)
	}
	for _, x := range a.p.OrderBy {
		known(a, "lane", x.Lane, 0, a.lane)
		known(a, "grade", x.Grade, 0, a.grade)
	}
}

// checkRows looks for one row a code and bucket.
func (a *auditor) checkRows() {
	onceEach(a, "line", a.line, rowsOf(a.p.Lines, func(x planner.LineUse) row { return row{x.Line, x.Bucket} }))
	onceEach(a, "material", a.material, rowsOf(a.p.Yard, func(x planner.YardLevel) row { return row{x.Material, x.Bucket} }))
	onceEach(a, "grade", a.grade, rowsOf(a.p.Pellets, func(x planner.PelletLevel) row { return row{x.Grade, x.Bucket} }))
	onceEach(a, "profile", a.profile, rowsOf(a.p.Rack, func(x planner.RackLevel) row { return row{x.Profile, x.Bucket} }))
	if len(a.p.NeedHave) > 0 {
		onceEach(a, "grade", a.grade, rowsOf(a.p.NeedHave, func(x planner.NeedHave) row { return row{x.Grade, x.Bucket} }))
	}
	seen := map[row]bool{}
	for _, r := range a.p.Runs {
		k := row{runName(r), r.Bucket}
		a.holds(Complete, a.at(r.Bucket, runName(r)), !seen[k], "more than one run of the profile on the line in the bucket")
		seen[k] = true
	}
	a.equal(LinesToRun, a.at(-1, "plan"), whole(len(a.p.LinesToRun)), whole(len(a.p.Buckets)), 0, "rows", "one number a bucket is wanted")
	a.holds(Complete, a.at(-1, "plan"), a.p.Plant == a.in.Plant.Name && a.p.Currency == a.in.Plant.Currency, "plant or currency are not the book's")
}

func rowsOf[T any](list []T, of func(T) row) []row {
	rows := make([]row, len(list))
	for i, x := range list {
		rows[i] = of(x)
	}
	return rows
}

// amount checks that numbers are finite and at least low.
func amount[T ~float64](a *auditor, w place, low float64, values ...T) {
	for _, v := range values {
		x := float64(v)
		ok := !math.IsNaN(x) && !math.IsInf(x, 0) && x >= low
		a.tally[Finite].Checked++
		if !ok {
			a.find(Finite, w, Finding{Want: low, Have: x, Note: "a number is negative or not finite"})
		}
	}
}

func (a *auditor) checkFinite() {
	for _, x := range a.p.Runs {
		w := a.at(x.Bucket, runName(x))
		amount(a, w, 0, x.Hours, x.Setup, x.Takes)
		amount(a, w, 0, x.Length)
		amount(a, w, 0, x.Pellets, x.Scrap)
	}
	for _, x := range a.p.Lines {
		amount(a, a.at(x.Bucket, "line "+x.Line), 0, x.Available, x.Run, x.Setup, x.Startup)
	}
	for _, x := range a.p.Draws {
		amount(a, a.at(x.Bucket, drawName(x)), 0, x.In, x.Out)
	}
	for _, x := range a.p.Yard {
		amount(a, a.at(x.Bucket, "material "+x.Material), -massTolerance, x.Opening, x.Arrived, x.Drawn, x.Closing)
	}
	for _, x := range a.p.Pellets {
		w := a.at(x.Bucket, "grade "+x.Grade)
		amount(a, w, -massTolerance, x.Opening, x.Made, x.Used, x.Shortfall, x.Closing, x.RegrindOpening, x.RegrindIn, x.RegrindOut, x.RegrindClosing)
		a.holds(Finite, w, !math.IsNaN(x.CoverDays) && x.CoverDays >= 0, "the cover is negative or not a number")
	}
	for _, x := range a.p.Rack {
		amount(a, a.at(x.Bucket, "profile "+x.Profile), -lengthTolerance, x.Opening, x.Made, x.Shipped, x.Closing, x.Demand, x.Late)
	}
	for _, x := range a.p.Costs {
		amount(a, a.at(-1, "cost "+x.Name), -math.MaxFloat64, x.Amount)
	}
	amount(a, a.at(-1, "plan"), -math.MaxFloat64, a.p.Objective, a.p.Margin.Sales, a.p.Margin.Feed, a.p.Margin.Processes, a.p.Margin.Net)
	a.holds(Finite, a.at(-1, "plan"), !math.IsNaN(float64(a.p.Bound)) && !math.IsNaN(a.p.Gap), "bound or gap is not a number")
}

func (a *auditor) index() {
	a.uses, a.runs, a.hours = map[lineBucket]planner.LineUse{}, map[lineBucket][]planner.Run{}, map[lineBucket]num{}
	for _, u := range a.p.Lines {
		a.uses[lineBucket{u.Line, u.Bucket}] = u
	}
	for _, r := range a.p.Runs {
		k := lineBucket{r.Line, r.Bucket}
		a.runs[k] = append(a.runs[k], r)
	}
}

func runName(r planner.Run) string { return "line " + r.Line + ", profile " + r.Profile }

func drawName(d planner.Draw) string {
	if d.Material == "" {
		return "regrind to grade " + d.Grade
	}
	return "material " + d.Material + " to grade " + d.Grade
}

// bucketOf is the bucket that holds d: -1 before the plan, the number of buckets after it.
func (a *auditor) bucketOf(d calendar.Day) int {
	if d < a.p.Start {
		return -1
	}
	for i, b := range a.p.Buckets {
		if d < b.Span.To {
			return i
		}
	}
	return len(a.p.Buckets)
}

func (a *auditor) end() calendar.Day { return a.p.Buckets[len(a.p.Buckets)-1].Span.To }
