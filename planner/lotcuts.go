package planner

import (
	"cmp"
	"context"
	"slices"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Cuts of the relaxation that knows of lots. Its gates ask for a die of a profile on any line, so that the line that is cheapest to change
// may hold the gate open while another makes the profile. What fit j alone makes in block b for the demand of block k, y[k], is no more than x[p,b,k] and
// asks for the die on its own line:
//
//	y[k] ≤ due[p,k]·open,  open = z[j,b] + Σ_(t in b) changed[j,t]
//
// Adding y for each fit and pair of blocks doubled the model. Without it what is left, for any set K of blocks, is
//
//	Σ_(t in b) rate·run[j,t] ≤ Σ_(k in K) due[p,k]·open + Σ_(k not in K) x[p,b,k],
//
// most violated where K holds the k with due[p,k]·open < x[p,b,k]. On bench plant M the blocks of 2 weeks with runs up to three go from 1.9538 to 1.9572
// million by some 600 such cuts, as far as with y (1.9575, 12,064 million units of work in all, where the cuts take 8,500). Cuts for several fits of a profile at a
// time and for runs of blocks gave 1.9577 for more work. L goes from 2.548 to 2.560 million, of which half a minute sees 2.552.

const (
	cutsAtATime = 60   // so that a bound is there even if time runs out on the next
	cutLeast    = 0.01 // of the metres in K: what a limit must be violated by
)

// fitLimit is the limit of a cut: of fit j in block b, with demand of the blocks in K gated.
type fitLimit struct {
	profile, fit, block int
	gated               []bool  // K, by block
	metres              float64 // due in K
	violated            float64 // share of that
}

// cutBounds adds cuts to g's program, solved by s, and tells each optimum, until no limit is violated, ctx ends or so much work is done.
func (f *lotModel) cutBounds(ctx context.Context, s *lp.Solver, left int64, tell func(bound float64)) {
	for {
		cuts := f.cuts(s.X())
		if len(cuts) == 0 || ctx.Err() != nil || f.opt.Work > 0 && left <= 0 {
			return
		}
		before := s.Work()
		s.AddRows(cuts)
		if s.Solve(ctx, lp.Limits{Work: left}) != solve.Optimal {
			return
		}
		left -= s.Work() - before
		tell(s.Objective())
	}
}

// cuts adds the limits to the model that x violates most and returns them.
func (f *lotModel) cuts(x []float64) []lp.Cut {
	var limits []fitLimit
	for p := range f.in.Profiles {
		if len(f.fitsBy[p]) < 2 { // the gates say it all
			continue
		}
		for _, j := range f.fitsBy[p] {
			for b := range f.ends {
				if c := f.limit(p, j, b, x); c.metres > 0 && c.violated > cutLeast {
					limits = append(limits, c)
				}
			}
		}
	}
	slices.SortStableFunc(limits, func(a, b fitLimit) int { return cmp.Compare(b.violated, a.violated) })
	var cuts []lp.Cut
	for _, c := range limits[:min(len(limits), cutsAtATime)] {
		i := f.emitLimit(c)
		vars, coefs := f.m.RowTerms(i)
		cuts = append(cuts, lp.Cut{Vars: slices.Clone(vars), Coefs: slices.Clone(coefs), Lower: f.m.RowLower[i], Upper: f.m.RowUpper[i]})
	}
	return cuts
}

// limit is the limit that fit j of profile p violates most in block b at x.
func (f *lotModel) limit(p, j, b int, x []float64) fitLimit {
	c := fitLimit{profile: p, fit: j, block: b, gated: make([]bool, len(f.ends))}
	made, open := 0.0, f.z[j][b].at(x)
	for t := f.start(b); t <= f.ends[b]; t++ {
		made += f.fits[j].rate * f.run[j][t].at(x)
		open += f.changed[j][t].at(x)
	}
	for k, lot := range f.x[p][b] {
		metres := lot.at(x)
		if k < len(f.ends) && f.due[p][k]*open < metres {
			c.gated[k] = true
			c.metres += f.due[p][k]
			metres = f.due[p][k] * open
		}
		made -= metres
	}
	c.violated = made / c.metres
	return c
}

// emitLimit adds c to the model.
func (f *lotModel) emitLimit(c fitLimit) model.Row {
	r := new(row)
	f.addMade(r, c.fit, c.block, 1)
	f.addOpen(r, c.fit, c.block, c.block+1, -c.metres)
	for k, lot := range f.x[c.profile][c.block] {
		if k == len(f.ends) || !c.gated[k] {
			r.add(lot, -1)
		}
	}
	return f.emit(r, -model.Infinity, 0, "fitlot", f.in.Lines[f.fits[c.fit].line].Code, f.profileCode(c.fit), c.block, f.m.NumRows())
}
