package audit

import (
	"feedline/planner"
)

// checkAnswers checks of the answers beside the run list what can be checked without solving: that each late order has one reason
// and no other has, that worths name what the book has, and that what bounds a bucket is the limit that earns most in it.
func (a *auditor) checkAnswers() {
	a.checkReasons()
	a.holds(Answers, a.at(-1, "plan"), len(a.p.BoundBy) == 0 || len(a.p.BoundBy) == len(a.p.Buckets), "not every bucket has what bounds it")
	for i, b := range a.p.BoundBy {
		w := a.at(b.Bucket, "bound")
		a.holds(Answers, w, b.Bucket == i, "the buckets are not in order")
		by := planner.OfDemand
		for n, r := range b.Rents {
			if n == 0 {
				by = r.Of
			}
			a.holds(Answers, w, r.Amount > 0 && (n == 0 || r.Amount <= b.Rents[n-1].Amount), "what the limits earn is not in order")
		}
		a.holds(Answers, w, b.By == by, "what bounds the bucket is not what earns most in it")
	}
	a.checkLineValues()
	seen := map[planner.Worth]bool{}
	for _, x := range a.p.Worth {
		w := a.at(x.Bucket, "worth of "+string(x.Of)+" "+x.Code)
		known := false
		switch x.Of {
		case planner.OfPellets:
			_, known = a.grade[x.Code]
		case planner.OfMaterial:
			_, known = a.material[x.Code]
		case planner.OfLineHour:
			_, known = a.line[x.Code]
			known = known && (x.Value == 0 || a.uses[lineBucket{x.Code, x.Bucket}].On)
		case planner.OfCrew, planner.OfFitter:
			known = x.Code == "" && x.Value == 0
		}
		a.holds(Answers, w, known && x.Bucket >= 0 && x.Bucket < len(a.p.Buckets), "the worth is of nothing that the plan has")
		a.holds(Answers, w, x.Value >= 0 && x.Relaxed >= 0, "a worth is negative")
		key := planner.Worth{Of: x.Of, Code: x.Code, Bucket: x.Bucket}
		a.holds(Answers, w, !seen[key], "named twice")
		seen[key] = true
	}
}

// checkLineValues checks that steps are of lines that the book has, of such as stand or run, each once, and that a step that can't be done
// brings nothing.
func (a *auditor) checkLineValues() {
	type step struct {
		line string
		do   planner.LineStep
	}
	seen := map[step]bool{}
	for _, v := range a.p.LineValues {
		w := a.at(-1, "line "+v.Line)
		_, known := a.line[v.Line]
		on := false
		for t := range a.p.Buckets {
			on = on || a.uses[lineBucket{v.Line, t}].On
		}
		a.holds(Answers, w, known && (v.Do == planner.StartLine || v.Do == planner.CommissionLine && !on || v.Do == planner.IdleLine && on), "what it would bring is of nothing that could be done")
		a.holds(Answers, w, v.Can || v == planner.LineValue{Line: v.Line, Do: v.Do}, "what can't be done brings something")
		a.holds(Answers, w, !seen[step{v.Line, v.Do}], "named twice")
		seen[step{v.Line, v.Do}] = true
	}
}

func (a *auditor) checkReasons() {
	if len(a.p.WhyLate) == 0 {
		a.tally[Answers].Checked++ // there may be none: the plan was stopped, or made in brief
		return
	}
	reasons := map[string]int{}
	for _, x := range a.p.WhyLate {
		reasons[x.Order]++
		a.holds(Answers, a.at(-1, "order "+x.Order), x.Limit != "" && x.Words != "", "the reason is blank")
	}
	for _, o := range a.p.Orders {
		want := 0
		if o.DaysLate > 0 || o.Promise == 0 {
			want = 1
		}
		a.equal(Answers, a.at(-1, "order "+o.Order), whole(reasons[o.Order]), whole(want), 0, "reasons", "one for a late order")
		delete(reasons, o.Order)
	}
	for code := range reasons {
		a.holds(Answers, a.at(-1, "order "+code), false, "the plan has no such order")
	}
}
