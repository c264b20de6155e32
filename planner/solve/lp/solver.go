package lp

import (
	"context"
	"math"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/internal/lu"
	"feedline/planner/solve/internal/sparse"
)

// The tolerances of the method, on scaled quantities.
const (
	// primalTol is the violation of a bound that counts as none, in scaled units.
	primalTol = 1e-7
	// dualTol is the wrong-signed reduced cost that counts as none, in scaled units.
	dualTol = 1e-7
	// modelTol is the largest violation, and wrong-signed reduced cost, accepted in the model's units, in relation to
	// the bound or cost where that exceeds one. Where scaling hides more, the scaled tolerances are tightened.
	modelTol = 1e-6
	// tightest is the least that the scaled tolerances are tightened to.
	tightest = 1e-9
	// smallCoef is the magnitude below which a coefficient of the model is dropped.
	smallCoef = 1e-9
	// weightFloor is the smallest steepest edge weight kept.
	weightFloor = 1e-4
)

// move says where a nonbasic variable may go.
const (
	stay   int8 = 0  // basic, or fixed
	up     int8 = 1  // at its lower bound
	down   int8 = -1 // at its upper bound
	either int8 = 2  // free, at zero
)

// Solver re-solves one linear program after changes, warm from its last basis. It works on the model as given, in
// minimisation sense internally; presolve is left to the caller. Not safe for concurrent use.
//
// Vectors that its methods return alias the solver's memory and are valid until the next call that changes it.
type Solver struct {
	opts     solve.Options
	maximize bool
	offset   float64
	m, n     int

	a, rows          sparse.Matrix // scaled coefficients by columns and by rows
	colScale         []float64     // x = colScale·x′
	rowScale         []float64     // s′ = rowScale·s
	c, lo, hi        []float64     // true costs and bounds, scaled, n+m long
	crossed          int           // variables whose bounds contradict each other
	wc, wl, wu       []float64     // working costs and bounds: perturbed, shifted or of the first phase
	shifted          bool          // wc differs from c
	ended            bool          // the dual method ended optimal for shifted costs
	perturbed        bool          // by perturb
	x, d             []float64     // n+m long
	move             []int8
	head, where      []int32 // variable of each position; position of each variable or -1
	xb, lb, ub, w    []float64
	inf              []float64 // squared violation by position, 0 if none
	cand             []int32   // positions that may have inf > 0
	inCand           []bool
	short            []int32 // positions whose price exceeds cut
	inShort          []bool
	cut              float64
	clock            clock
	f                *lu.Factor
	stale            bool // f does not belong to head
	rho, save        *sparse.Vec
	alphaRow         *sparse.Vec // n+m long
	aq, spike        *sparse.Vec
	tau, flipCol     *sparse.Vec
	cj               []int32   // candidates of the ratio test
	ca               []float64 // their |alpha|
	flips            []int32
	groups           []int32
	oldW             []float64
	prices           columnPrices
	tried            []int32 // positions set aside until the next rebuild
	dens             densities
	rng              uint64
	iterations, work int64

	// of the running call
	ctx        context.Context
	lim        Limits
	deadline   time.Time
	startIter  int64
	startWork  int64
	why        solve.Stop // reason when a loop ends with endStopped
	z          float64    // dual objective of the working problem, without the offset
	zTest      float64    // z from which the objective limit is tested
	pollAt     int64
	progress   func(iterations int64) // called at each look at the clock; may be nil
	ptol, dtol float64                // primalTol and dualTol, or tighter
	fresh      bool                   // x, d and the factors suit the dual method as they are
	settled    bool                   // and belong to the true costs and, but for those of dirty, bounds
	dirty      []int32                // variables whose bounds changed since
	idle       int                    // primal steps of no length in a row
	loose      bool                   // the primal method works on loosened bounds
	cleaned    bool                   // a method has ended before in this run
	keepSides  bool                   // fixDuals only counts
	warm       bool                   // the run started from a basis thought to be near the optimum

	// outputs in the model's units
	stop           solve.Stop
	objective      float64
	outX, outY     []float64
	outD, activity []float64
	ray            []float64
	haveOut        bool
}

// densities are running averages of the density of the solves' results.
type densities struct{ rho, aq, tau, flip float64 }

func smooth(avg *float64, now float64) { *avg += 0.1 * (now - *avg) }

// NewSolver prepares the relaxation of m (integrality ignored); it copies what it needs. The basis is
// the one of all logical variables.
func NewSolver(m *model.Model, opts solve.Options) *Solver {
	s := &Solver{opts: opts, maximize: m.Maximize, offset: m.Offset, m: m.NumRows(), n: m.NumVars()}
	s.ptol, s.dtol = primalTol, dualTol
	s.loadMatrix(m)
	s.scale()
	s.loadBounds(m)
	s.rows = s.a.Transpose(s.m)
	s.allocate()
	s.slackBasis()
	return s
}

func (s *Solver) loadMatrix(m *model.Model) {
	cols := m.Columns()
	s.a.Beg = make([]int32, 1, s.n+1)
	s.a.Idx = make([]int32, 0, len(cols.Index))
	s.a.Val = make([]float64, 0, len(cols.Index))
	for j := 0; j < s.n; j++ {
		for t := cols.Start[j]; t < cols.Start[j+1]; t++ {
			if v := cols.Value[t]; math.Abs(v) >= smallCoef {
				s.a.Idx = append(s.a.Idx, int32(cols.Index[t]))
				s.a.Val = append(s.a.Val, v)
			}
		}
		s.a.Beg = append(s.a.Beg, int32(len(s.a.Idx)))
	}
}

func (s *Solver) loadBounds(m *model.Model) {
	t := s.n + s.m
	s.c, s.lo, s.hi = make([]float64, t), make([]float64, t), make([]float64, t)
	for j := 0; j < s.n; j++ {
		s.setCost(j, m.Cost[j])
		s.setBounds(j, m.Lower[j], m.Upper[j])
	}
	for i := 0; i < s.m; i++ {
		s.setBounds(s.n+i, m.RowLower[i], m.RowUpper[i])
	}
}

// unit is what a value of variable v in scaled units is multiplied by to give the model's units; for a
// logical variable it includes the sign.
func (s *Solver) unit(v int) float64 {
	if v < s.n {
		return s.colScale[v]
	}
	return -1 / s.rowScale[v-s.n]
}

func (s *Solver) setCost(j int, cost float64) {
	if s.maximize {
		cost = -cost
	}
	if cost != cost {
		s.settled = false
	}
	s.c[j] = cost * s.colScale[j]
}

// setBounds stores bounds given in the model's units.
func (s *Solver) setBounds(v int, lower, upper float64) {
	if lower <= -model.InfiniteFrom {
		lower = math.Inf(-1)
	}
	if upper >= model.InfiniteFrom {
		upper = math.Inf(1)
	}
	u := s.unit(v)
	lower, upper = lower/u, upper/u
	if u < 0 {
		lower, upper = upper, lower
	}
	// Bounds that cross by rounding only are taken for equal.
	if lower > upper && lower-upper <= 1e-9*math.Max(1, math.Abs(lower)) {
		lower = upper
	}
	if lower != lower || upper != upper {
		s.settled = false // valid will find it
	}
	s.crossed += crossing(lower, upper) - crossing(s.lo[v], s.hi[v])
	s.lo[v], s.hi[v] = lower, upper
}

func crossing(lower, upper float64) int {
	if lower > upper || math.IsInf(lower, 1) || math.IsInf(upper, -1) {
		return 1
	}
	return 0
}

func (s *Solver) allocate() {
	m, t := s.m, s.n+s.m
	f := func(n int) []float64 { return make([]float64, n) }
	s.wc, s.wl, s.wu, s.x, s.d = f(t), f(t), f(t), f(t), f(t)
	s.move = make([]int8, t)
	s.head, s.where = make([]int32, m), make([]int32, t)
	s.xb, s.lb, s.ub, s.w, s.inf, s.oldW = f(m), f(m), f(m), f(m), f(m), f(t)
	s.cand, s.inCand = make([]int32, 0, m), make([]bool, m)
	s.short, s.inShort = make([]int32, 0, m), make([]bool, m)
	s.f = lu.New(m)
	s.rho, s.save, s.aq, s.spike = sparse.NewVec(m), sparse.NewVec(m), sparse.NewVec(m), sparse.NewVec(m)
	s.tau, s.flipCol = sparse.NewVec(m), sparse.NewVec(m)
	s.alphaRow = sparse.NewVec(t)
	s.cj, s.ca = make([]int32, 0, t), make([]float64, 0, t)
	s.outX, s.outD = f(s.n), f(s.n)
	s.outY, s.activity = f(m), f(m)
}

// SetBounds changes the bounds of column j.
func (s *Solver) SetBounds(j model.Var, lower, upper float64) {
	s.setBounds(int(j), lower, upper)
	s.dirty = append(s.dirty, int32(j))
	s.haveOut = false
}

// SetRowBounds changes the bounds of row r.
func (s *Solver) SetRowBounds(r model.Row, lower, upper float64) {
	s.setBounds(s.n+int(r), lower, upper)
	s.dirty = append(s.dirty, int32(s.n)+int32(r))
	s.haveOut = false
}

// SetCost changes the cost of column j, in the model's own sense.
func (s *Solver) SetCost(j model.Var, cost float64) {
	s.setCost(int(j), cost)
	s.haveOut, s.settled = false, false
}

// NumRows is the number of rows now, added ones included.
func (s *Solver) NumRows() int { return s.m }

// Iterations is the number of simplex iterations since the solver was made.
func (s *Solver) Iterations() int64 { return s.iterations }

// Work is the number of work units since the solver was made: entries of vectors and matrices touched.
func (s *Solver) Work() int64 { return s.work + s.f.Work }
