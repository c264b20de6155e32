package planner

import (
	"context"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// A bound that knows of lots. The relaxation without set-up states lets a line run any profile at any time, so it has no changeovers.
// Here what is made in a block of some weeks for the demand of a block asks for its die to be on the line as the block begins, or
// to be put on it within:
//
//	x[p,b,k]  metres of profile p made in block b for what is due in block k, beyond opening stock; k after the last block: for no demand
//	z[j,b]    whether the die of fit j is on its line as block b begins
//
//	Σ_k x[p,b,k] = Σ_(t in b) Σ_j rate·run[j,t]
//	Σ_b x[p,b,k] ≤ due[p,k]
//	x[p,b,k] ≤ due[p,k]·Σ_j (z[j,b] + Σ_(t in b) changed[j,t])
//	z[j,b+1] ≤ z[j,b] + Σ_(t in b) changed[j,t],  Σ_(j of a line) z[j,b] ≤ 1
//	rack at the end of b ≥ what was made up to b for later blocks, and what is left of the opening stock
//	late at the end of b ≥ what is due up to b and not made up to b
//
// Every plan has such x and z: what is made is taken, in order, for what is due, in order. It is the facility-location form of lot-sizing
// (Krarup and Bilde, Plant location, set covering and economic lot size, 1977, title seen only), with few blocks, so that it stays small, and
// all lines of a profile in one limit.
//
// A run of blocks can have a gate too: what is made in it for a block asks for the die as the run begins or for a changeover within. Limits of what a
// single line makes are cuts (lotcuts.go), which the last of several such relaxations gets.
//
// Few long blocks without runs bound better than many short ones: a profile is due in every long block, while short ones it can skip at the cost of a
// little stock. On bench plant M blocks of 2, 4, 5, 6 and 8 weeks give 1.936, 1.941, 1.940, 1.937 and 1.933 million. With runs of two blocks 4 weeks give
// 1.946 for 1,100 million units of work, 2 weeks 1.952 for 3,800, and with runs up to three 1.954 for 4,600. On S 4 weeks give 514.6 thousand, 2 weeks 516.2,
// single weeks with runs up to four 517.3; on L 4 weeks give 2.548 million for 5,900 million units, where the relaxation without lots has 2.470.

// lotStage is how fine a relaxation looks at lots.
type lotStage struct {
	weeks int // of a block
	run   int // blocks of the longest run with a gate
}

// lotStages are solved one after the other, as far as the limits go.
var lotStages = []lotStage{{4, 2}, {2, 3}, {1, 4}}

const (
	lotShare  = 0.5         // of a limit of work that the programs may take
	lotMore   = 3           // times what a stage took must be left for the next to begin
	lotsLeast = 500_000_000 // limit of work below which a plan made of an earlier one goes without
)

// blocks is the last bucket of each block.
func (f *facts) blocks(weeks int) []int {
	var ends []int
	block := func(t int) int { return int(f.buckets[t].Span.From-f.start.Monday()) / (7 * weeks) }
	for t := range f.buckets {
		if t == len(f.buckets)-1 || block(t+1) > block(t) {
			ends = append(ends, t)
		}
	}
	return ends
}

// lotModel is the relaxation without set-up states that knows of lots.
type lotModel struct {
	*formulation
	ends []int       // last bucket of each block
	z    [][]ref     // by fit and block
	x    [][][]ref   // by profile, block in which it is made, and block that it is made for
	due  [][]float64 // metres beyond the opening stock, by profile and block
}

// lotted is the relaxation that looks at lots as fine as stage says.
func lotted(fa *facts, stage lotStage) *lotModel {
	g := &lotModel{formulation: relaxed(fa)}
	g.m.Name = "lots"
	g.ends = g.blocks(stage.weeks)
	g.diesOn()
	for p := range g.in.Profiles {
		g.lotsOf(p, stage.run)
	}
	return g
}

// start is the first bucket of block b.
func (f *lotModel) start(b int) int {
	if b == 0 {
		return 0
	}
	return f.ends[b-1] + 1
}

// addChanges adds coef for each changeover to fit j in block b.
func (f *lotModel) addChanges(r *row, j, b int, coef float64) {
	for t := f.start(b); t <= f.ends[b]; t++ {
		r.add(f.changed[j][t], coef)
	}
}

// addMade adds coef for each metre that fit j makes in block b.
func (f *lotModel) addMade(r *row, j, b int, coef float64) {
	for t := f.start(b); t <= f.ends[b]; t++ {
		r.add(f.run[j][t], coef*f.fits[j].rate)
	}
}

// diesOn adds z.
func (f *lotModel) diesOn() {
	f.z = make([][]ref, len(f.fits))
	for j, ft := range f.fits {
		code, z := f.in.Lines[ft.line].Code, make([]ref, len(f.ends))
		z[0] = constant(f.mountedAtStart(j))
		for b := 1; b < len(f.ends); b++ {
			z[b] = column(f.m.AddVar(label("dieon", code, f.profileCode(j), b), 0, 1, 0))
			r := new(row).add(z[b], 1).add(z[b-1], -1)
			f.addChanges(r, j, b-1, -1)
			f.emit(r, -model.Infinity, 0, "dieon", code, f.profileCode(j), b)
		}
		f.z[j] = z
	}
	for l, ln := range f.in.Lines {
		for b := 1; b < len(f.ends); b++ {
			r := new(row)
			for _, j := range f.fitsOf[l] {
				r.add(f.z[j][b], 1)
			}
			if len(r.terms) > 0 {
				f.emit(r, -model.Infinity, 1, "onedie", ln.Code, b)
			}
		}
	}
}

// lotsOf adds x of profile p and its limits, with gates of runs of up to so many blocks.
func (f *lotModel) lotsOf(p int, longest int) {
	code, n := f.in.Profiles[p].Code, len(f.ends)
	due, left := f.dueBeyondStock(p)
	x := make([][]ref, n)
	f.x, f.due = append(f.x, x), append(f.due, due)
	for b := range x {
		x[b] = make([]ref, n+1)
		made := new(row)
		for k := range x[b] {
			if k == n {
				x[b][k] = column(f.m.AddVar(label("lot", code, b, k), 0, model.Infinity, 0))
			} else if due[k] > 0 {
				x[b][k] = column(f.m.AddVar(label("lot", code, b, k), 0, due[k], 0))
			}
			made.add(x[b][k], 1)
		}
		for _, j := range f.fitsBy[p] {
			f.addMade(made, j, b, -1)
		}
		f.emit(made, 0, 0, "lots", code, b)
	}
	for k, metres := range due {
		if metres > 0 {
			r := new(row)
			for b := range x {
				r.add(x[b][k], 1)
			}
			f.emit(r, -model.Infinity, metres, "lotsfor", code, k)
		}
	}
	for long := 1; long <= longest; long++ {
		for b := 0; b+long <= n; b++ {
			for k, metres := range due {
				if metres > 0 {
					f.gate(p, b, b+long, k)
				}
			}
		}
	}
	owed := 0.0
	for b, t := range f.ends {
		early, late := new(row).add(f.rack[p][t], 1), new(row)
		for c := range f.classes[p] {
			late.add(f.late[p][c][t], 1)
		}
		for o := 0; o <= b; o++ {
			for k := range x[o] {
				if k > b {
					early.add(x[o][k], -1)
				} else {
					late.add(x[o][k], 1)
				}
			}
		}
		owed += due[b]
		f.emit(early, left[b], model.Infinity, "early", code, b)
		if owed > 0 {
			f.emit(late, owed, model.Infinity, "overdue", code, b)
		}
	}
}

// gate lets profile p be made in the blocks from b to before to for block k only with a die on as b begins or put on within.
func (f *lotModel) gate(p, b, to, k int) {
	r, metres := new(row), f.due[p][k]
	for o := b; o < to; o++ {
		r.add(f.x[p][o][k], 1)
	}
	for _, j := range f.fitsBy[p] {
		f.addOpen(r, j, b, to, -metres)
	}
	f.emit(r, -model.Infinity, 0, "gate", f.in.Profiles[p].Code, b, to-b, k)
}

// addOpen adds coef for the die of fit j being on as block b begins and for each changeover to it from there to before block to.
func (f *lotModel) addOpen(r *row, j, b, to int, coef float64) {
	r.add(f.z[j][b], coef)
	for o := b; o < to; o++ {
		f.addChanges(r, j, o, coef)
	}
}

// dueBeyondStock is what is due of profile p in each block beyond its opening stock, which serves what is due first, and what is left of that
// stock after each.
func (f *lotModel) dueBeyondStock(p int) (due, left []float64) {
	due, left = make([]float64, len(f.ends)), make([]float64, len(f.ends))
	stock := f.rack0[p]
	for b := range due {
		for t := f.start(b); t <= f.ends[b]; t++ {
			for _, c := range f.classes[p] {
				due[b] += c.metres[t]
			}
		}
		use := min(stock, due[b])
		stock -= use
		due[b] -= use
		left[b] = stock
	}
	return due, left
}

// lotBounds solves the stages and tells the optimum of each, ever higher bounds. The first begins where it ended before, else where the relaxation
// without lots has. Where the next would take too long, the last gets cuts, and each lot of them tells a bound. They end with ctx or the share of a
// limit of work; then told is closed.
func (f *formulation) lotBounds(ctx context.Context, from, without named, told chan bounded) {
	defer close(told)
	if len(from) == 0 {
		from = without
	}
	left, first := int64(lotShare*float64(f.opt.Work)), named{}
	for i, stage := range lotStages {
		began := time.Now()
		g := lotted(f.facts, stage)
		s := lp.NewSolver(g.m, solve.Options{Seed: f.opt.Seed})
		s.SetBasis(from.on(g.m))
		if s.Solve(ctx, lp.Limits{Work: left}) != solve.Optimal {
			return
		}
		if i == 0 {
			first = nameBasis(g.m, s.Basis())
		}
		tell(told, bounded{bound: s.Objective(), basis: first})
		left -= s.Work()
		end, timed := ctx.Deadline()
		if i == len(lotStages)-1 || f.opt.Work > 0 && left < lotMore*s.Work() || timed && time.Until(end) < lotMore*time.Since(began) {
			g.cutBounds(ctx, s, left, func(bound float64) { tell(told, bounded{bound: bound, basis: first}) })
			return
		}
		from = without
	}
}

// tell puts b into told in the place of an older bound, if one is still there: of several the last is the highest.
func tell(told chan bounded, b bounded) {
	for {
		select {
		case told <- b:
			return
		default:
		}
		select {
		case <-told:
		default:
		}
	}
}
