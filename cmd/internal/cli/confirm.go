package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"feedline/cmd/internal/book"
	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/solve/peer"
)

// errPeer ends a verify whose bound another solver contradicts.
var errPeer = errors.New("the other solver contradicts the plan")

// confirm lets another solver work on the model that p was made with, for the given time, and holds the two against each other: no
// proven bound may lie above what the other has found.
func (a *app) confirm(ctx context.Context, in *planner.Input, p *planner.Plan, released *planner.Plan, meta book.PlanMeta, name string, limit time.Duration) error {
	s, err := peer.Find(name)
	if err != nil {
		return badInput{err, "allowed are glpsol, cbc and highs; feedline verify without --with needs none of them"}
	}
	var asked savedOptions
	if meta.Options != nil {
		if err := json.Unmarshal(meta.Options, &asked); err != nil {
			return err
		}
	}
	m, err := planner.Model(in, planner.Options{Now: p.Made, Start: p.Start, Weeks: asked.Weeks, DailyDays: asked.Days, Released: released})
	if err != nil {
		return err
	}
	if m.NumRows() != p.Size.Rows || m.NumVars() != p.Size.Cols {
		return badInput{fmt.Errorf("the model is now of %d rows and %d columns, the plan's was of %d and %d", m.NumRows(), m.NumVars(), p.Size.Rows, p.Size.Cols), "plan again: feedline plan"}
	}
	a.say("%s works on the plan's model, at most %s", s.Name, limit)
	r, err := s.Solve(ctx, m, peer.Options{Time: limit})
	if err != nil {
		return err
	}
	word := func(x float64) string {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return "none"
		}
		return quantity.Grouped(x, 2)
	}
	fmt.Fprintf(a.Out, "%-10s %18s %18s\n%-10s %18s %18s\n%-10s %18s %18s\n", "", "cost", "bound",
		"feedline", word(float64(p.Objective)), word(float64(p.Bound)), s.Name, word(r.Objective), word(r.Bound))
	near := 1e-6 * (1 + math.Abs(float64(p.Objective)))
	if float64(p.Bound) > r.Objective+near || r.Bound > float64(p.Objective)+near {
		return errPeer
	}
	if math.IsNaN(r.Objective) && math.IsNaN(r.Bound) {
		a.say("feedline: note: %s found neither a plan nor a bound in that time; give it longer with --time", s.Name)
		return nil
	}
	fmt.Fprintln(a.Out, "no bound lies above the other's cost")
	return nil
}
