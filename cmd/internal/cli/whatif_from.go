package cli

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"feedline/cmd/internal/book"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// earlier is the plan that a what-if starts from and is held against; none if plan is nil.
type earlier struct {
	plan    *planner.Plan
	id      int64
	changed bool           // the book has changed since
	missed  quantity.Money // by which it would cost less, did it what the what-if does: what its search had not found
}

// leastMissed is the share of a plan's cost from which what its search had not found is told.
const leastMissed = 0.001

// redone does what p, a what-if, does without the what-if: the plant is unedited.
func (e *earlier) redone(ctx context.Context, unedited *planner.Input, opt planner.Options, p *planner.Plan) {
	if e.plan == nil || e.changed {
		return
	}
	cost, ok := planner.Redo(ctx, unedited, opt, p)
	if less := e.plan.Objective - cost; ok && float64(less) > leastMissed*math.Abs(float64(e.plan.Objective)) {
		e.missed = less
	}
}

// earlierPlan is the plan saved last if it has the days of a plan of in under opt: costs of plans with other days do not compare.
func (a *app) earlierPlan(ctx context.Context, b *book.Book, in *planner.Input, opt planner.Options, now book.Version) (earlier, error) {
	p, meta, err := b.LastPlan(ctx)
	if errors.Is(err, book.ErrNoPlan) {
		return earlier{}, nil
	}
	if err != nil {
		return earlier{}, err
	}
	same := func(x, y calendar.Bucket) bool { return x.Span == y.Span }
	if !slices.EqualFunc(p.Buckets, planner.Horizon(in, opt), same) {
		a.say("feedline: note: plan %d has other days, %s: this one is made from nothing, and their costs do not compare", meta.ID, p.Heading())
		return earlier{}, nil
	}
	return earlier{plan: p, id: meta.ID, changed: meta.Input != now}, nil
}

// against says what a what-if does to the plan that it was made from.
func (a *app) against(from earlier, p *planner.Plan) {
	if from.plan == nil {
		return
	}
	d := planner.Diff(from.plan, p)
	say := []string{"it " + costWords(d.Objective.Is-d.Objective.Was, d.Currency)}
	if from.missed > 0 {
		say[0] += fmt.Sprintf("; plan %d done the same way would cost %s %s less, so that by itself the what-if %s", from.id,
			quantity.Grouped(float64(from.missed), 0), d.Currency, costWords(d.Objective.Is-d.Objective.Was+from.missed, d.Currency))
	}
	count := map[planner.OrderFate]int{}
	for _, o := range d.Orders {
		count[o.Fate]++
	}
	for _, fate := range []planner.OrderFate{planner.NewlyLate, planner.Later, planner.Rescued, planner.Sooner} {
		if n := count[fate]; n > 0 {
			say = append(say, counted(n, "order")+" "+string(fate))
		}
	}
	if from.changed {
		say = append(say, "the book has changed since that plan, which is in this too")
	}
	a.say("feedline: note: against plan %d %s", from.id, strings.Join(say, "; "))
}

// costWords is what a plan costs more or, below 0, less.
func costWords(more quantity.Money, currency string) string {
	switch x := math.Round(float64(more)); {
	case x > 0:
		return fmt.Sprintf("costs %s %s more", quantity.Grouped(x, 0), currency)
	case x < 0:
		return fmt.Sprintf("costs %s %s less", quantity.Grouped(-x, 0), currency)
	}
	return "costs the same"
}

// beyond tells of days of edits that the plan does not reach.
func (a *app) beyond(edits []planner.Edit, p *planner.Plan) {
	if len(p.Buckets) == 0 {
		return
	}
	last := p.Buckets[len(p.Buckets)-1].Span.To - 1
	for _, e := range edits {
		for _, column := range slices.Sorted(maps.Keys(e.Cells)) {
			day, err := calendar.ParseDay(e.Cells[column])
			if err == nil && day > last && !slices.Contains([]string{"to", "last_day", "down_until"}, column) {
				a.say("feedline: note: %s: %s %s lies after the last day of the plan, %s", e.Table, strings.ReplaceAll(column, "_", " "), day, last)
			}
		}
	}
}
