package planner_test

import (
	"context"
	"testing"
	"time"

	"feedline/planner"
	"feedline/planner/audit"
)

// TestNoAnswerIsSilentlyEmpty works the answers out within less and less work, down to next to none: each is there, or named as missing with
// the reason; a worth that was not measured is marked, and the audit takes the plan in either case.
func TestNoAnswerIsSilentlyEmpty(t *testing.T) {
	in := workshop()
	in.Orders[3].Length = 40000 // late for want of hours
	p := audited(t, in, quick())
	whole := 0
	for _, work := range []int64{1 << 40, 3_000_000, 300_000, 30_000, 1} {
		q, err := planner.AnswersWithin(in, quick(), p, work)
		if err != nil {
			t.Fatal(err)
		}
		if rep := audit.Plan(in, q); !rep.OK() {
			t.Errorf("work %d: the audit found the plan wrong:\n%s", work, rep)
		}
		for _, a := range []struct {
			name planner.Answer
			n    int
		}{{planner.AnswerWorth, len(q.Worth)}, {planner.AnswerBound, len(q.BoundBy)}, {planner.AnswerLate, len(q.WhyLate)}, {planner.AnswerLines, len(q.LineValues)}} {
			words, lacks := q.Lacks(a.name)
			switch {
			case a.n == 0 && (!lacks || words == ""):
				t.Errorf("work %d: %s is empty, and nothing is said of it", work, a.name)
			case work == 1<<40 && lacks && a.name != planner.AnswerLines:
				t.Errorf("without a limit of work %s is missing: %s", a.name, words)
			}
		}
		dual := 0
		for _, w := range q.Worth {
			if w.Dual {
				dual++
			}
		}
		if words, lacks := q.Lacks(planner.AnswerWorth); dual > 0 && !lacks {
			t.Errorf("work %d: %d worths are not measured, and it is not said (%s)", work, dual, words)
		}
		if dual == 0 && len(q.Worth) > 0 {
			whole++
		}
	}
	if whole == 0 || whole == 5 {
		t.Errorf("%d of 5 limits of work had all worths measured: the test cuts none, or all, short", whole)
	}
}

// TestAnswersUnderTime gives the search next to no time: no answer is silently empty.
func TestAnswersUnderTime(t *testing.T) {
	opt := quick()
	opt.Work, opt.Time = 0, 50*time.Millisecond
	p := audited(t, workshop(), opt)
	for _, a := range []struct {
		name planner.Answer
		n    int
	}{{planner.AnswerNeed, len(p.NeedHave)}, {planner.AnswerWorth, len(p.Worth)}, {planner.AnswerBound, len(p.BoundBy)}, {planner.AnswerLines, len(p.LineValues)}} {
		if words, lacks := p.Lacks(a.name); a.n == 0 && words == "" {
			t.Errorf("%s is empty, missing %t", a.name, lacks)
		}
	}
	opt.Brief = true
	p, err := planner.Make(context.Background(), workshop(), opt)
	if err != nil {
		t.Fatal(err)
	}
	if words, lacks := p.Lacks(planner.AnswerWorth); !lacks || words == "" {
		t.Error("a plan in brief does not say that worths were left out")
	}
}
