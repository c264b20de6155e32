package mip

import "math"

// Path cuts: the (l,S) inequalities of Barany, Van Roy and Wolsey (1984), found on whatever rows form a chain of
// balances, backlogging included.
//
// Rows k..l of a chain say, oriented, Σ inflow − Σ outflow ≥ d_t with all flows ≥ 0, the rows being joined by a forward
// link (stock, out of t and into t+1) and perhaps a backward link r_t (backlog, out of t+1 and into t). Some inflows are
// gated: x ≤ Σ M·y for whole columns y ≥ 0, so that x > 0 needs Σ y ≥ 1. With D_tl = d_t + … + d_l and S a set of rows,
//
//	inflow(k, link) + Σ_{t∉S} x_t + Σ_{t∈S} max(0, D_tl)·y_t + Σ_{t∈S, t>k} r_{t−1} + r_l ≥ D_kl
//
// is valid: if all gates of S are shut the rows added up say so; otherwise let τ be the first row of S with an open gate:
// rows k..τ−1 give inflow + Σ_{t<τ} x_t + r_{τ−1} ≥ D_{k,τ−1}, and D_τl·y_τ ≥ D_τl. Gated inflows of one row are chosen
// one by one. Separation takes the smaller of the two terms everywhere: exact for a chain, and linear in its length.
const maxPath = 80

// findGates lists, per continuous column, the sets of whole columns of which one must be positive for it to be positive.
func (p *problem) findGates() [][][]int32 {
	gates := make([][][]int32, p.n)
	for i := range p.m {
		if p.rowUp[i] <= 0 {
			p.addGate(gates, i, 1)
		}
		if p.rowLo[i] >= 0 {
			p.addGate(gates, i, -1)
		}
	}
	return gates
}

// addGate reads sign·row ≤ 0 as x ≤ Σ M·y if one positive continuous column stands against whole ones.
func (p *problem) addGate(gates [][][]int32, i int, sign float64) {
	vars, coefs := p.row(i)
	x := int32(-1)
	var ys []int32
	for k, j := range vars {
		c := sign * coefs[k]
		switch {
		case p.integer[j] && c < 0 && p.lower[j] >= 0:
			ys = append(ys, j)
		case !p.integer[j] && c > 0 && p.lower[j] >= 0:
			if x >= 0 {
				continue // more inflows behind one gate: it shuts each of them
			}
			x = j
		default:
			return
		}
	}
	if len(ys) == 0 || len(ys) > 10 {
		return
	}
	for k, j := range vars {
		if sign*coefs[k] > 0 {
			gates[j] = append(gates[j], ys)
		}
	}
}

// pathStep is one row of a chain, nearest the end first.
type pathStep struct {
	row    int32
	end    bool // the chain's last row: outflows count at their lower bounds
	weight float64
	demand float64 // Σ of demands from this row to the end of the chain
	link   int32   // column that joins it to the row before it; −1 if there is none
	linkAt float64 // its oriented coefficient
	back   []pathTerm
	plain  float64 // Σ a·x of its other inflows at the point
	gated  float64 // Σ min(a·x, D·y)
	terms  []pathTerm
}

// pathTerm is an inflow: coef·x, or D·Σ gate when shut is set.
type pathTerm struct {
	col  int32
	coef float64
	gate []int32
}

// pathFinder holds what the separation needs of the problem.
type pathFinder struct {
	s     *separator
	gates [][][]int32
	links [][]int32 // per continuous column, its rows that can be balances
}

func newPathFinder(s *separator) *pathFinder {
	f := &pathFinder{s: s, gates: s.p.findGates(), links: make([][]int32, s.p.n)}
	for i := range s.p.m {
		vars, _ := s.p.row(i)
		if len(vars) < 3 || s.p.rowLo[i] != s.p.rowUp[i] {
			continue
		}
		for _, j := range vars {
			if !s.p.integer[j] {
				f.links[j] = append(f.links[j], int32(i))
			}
		}
	}
	return f
}

// separate looks, for each balance row as the end of a chain and both orientations, for the most violated cut.
func (f *pathFinder) separate() {
	p := f.s.p
	for i := range p.m {
		if p.rowLo[i] != p.rowUp[i] {
			continue
		}
		if f.s.halted() {
			return
		}
		for _, w := range [2]float64{1, -1} {
			if first, ok := f.step(int32(i), w, nil); ok {
				f.walk(first, -1)
				f.walk(first, 1)
			}
		}
	}
}

// step reads row i with weight w as a link of the chain that goes on with next; false if it is none.
func (f *pathFinder) step(i int32, w float64, next *pathStep) (pathStep, bool) {
	s := f.s
	vars, coefs := s.p.row(int(i))
	s.work += int64(len(vars))
	st := pathStep{row: i, weight: w, demand: w * s.p.rowLo[i], link: -1, end: next == nil}
	continuous := false
	for k, j := range vars {
		a := w * coefs[k]
		if s.lower[j] < 0 {
			return st, false
		}
		continuous = continuous || !s.p.integer[j]
		if a < 0 {
			if next == nil {
				st.demand -= a * s.lower[j]
			}
			continue
		}
		if out := f.outflow(next, j); out < 0 {
			if a+out > 1e-12*a {
				return st, false // it would not cancel where the rows are added up
			}
			if next.end {
				st.demand += out * s.lower[j] // the end's demand has it at its lower bound, the sum of the rows has not
			}
			st.back = append(st.back, pathTerm{col: j, coef: a})
			continue
		}
		st.terms = append(st.terms, pathTerm{col: j, coef: a})
	}
	if next != nil {
		st.demand += next.demand
	}
	return st, continuous
}

// outflow is the oriented coefficient of column j in the row after, negative if it flows out of it; 0 without one.
func (f *pathFinder) outflow(next *pathStep, j int32) float64 {
	if next == nil {
		return 0
	}
	return f.coefIn(next.row, j) * next.weight
}

func (f *pathFinder) coefIn(i, j int32) float64 {
	vars, coefs := f.s.p.row(int(i))
	for k, v := range vars {
		if v == j {
			return coefs[k]
		}
	}
	return 0
}

// weigh fills in the values of a step's inflows but for the link, choosing gates.
func (f *pathFinder) weigh(st *pathStep) {
	st.plain, st.gated = 0, 0
	d := math.Max(0, st.demand)
	for k := range st.terms {
		t := &st.terms[k]
		t.gate = nil
		if t.col == st.link {
			continue
		}
		v := t.coef * f.s.x[t.col]
		best := v
		for _, g := range f.gates[t.col] {
			sum := 0.0
			for _, y := range g {
				sum += f.s.x[y]
			}
			if d*sum < best-1e-9 {
				best, t.gate = d*sum, g
			}
		}
		st.plain += v
		st.gated += best
	}
}

// predecessor picks the column and row that lead from st backwards in direction dir over the row indices.
func (f *pathFinder) predecessor(st *pathStep, dir int32, used map[int32]bool) (col, row int32, ok bool) {
	best := -1.0
	for _, t := range st.terms {
		if f.s.p.integer[t.col] || len(f.gates[t.col]) > 0 {
			continue
		}
		for _, i := range f.links[t.col] {
			if i == st.row || used[i] || (i-st.row)*dir < 0 {
				continue
			}
			if v := f.s.x[t.col]; v > best && f.coefIn(i, t.col) != 0 {
				best, col, row, ok = v, t.col, i, true
			}
		}
	}
	return col, row, ok
}

// walk follows the chain backwards and makes the cut of its most violated stretch.
func (f *pathFinder) walk(first pathStep, dir int32) {
	path := []pathStep{first}
	used := map[int32]bool{first.row: true}
	bestAt, bestGap := -1, 1e-6
	settled := 0.0 // value of the steps already joined to the one before them
	for {
		st := &path[len(path)-1]
		st.link = -1
		f.weigh(st)
		if gap := st.demand - settled - st.gated; gap > bestGap*math.Max(1, st.demand) && st.demand > 0 {
			bestAt, bestGap = len(path), gap/math.Max(1, st.demand)
		}
		col, row, ok := f.predecessor(st, dir, used)
		if !ok || len(path) == maxPath {
			break
		}
		st.link = col
		for _, t := range st.terms {
			if t.col == col {
				st.linkAt = t.coef
			}
		}
		next, ok := f.step(row, -st.linkAt/f.coefIn(row, col), st)
		if !ok {
			break
		}
		f.weigh(st)
		settled += f.settle(st, next.back)
		path = append(path, next)
		used[row] = true
	}
	if bestAt > 0 {
		f.emit(path[:bestAt])
	}
}

// settle decides, once the backward link into st is known, whether st's gates are worth it; the value of the step.
func (f *pathFinder) settle(st *pathStep, back []pathTerm) float64 {
	penalty := 0.0
	for _, t := range back {
		penalty += t.coef * f.s.x[t.col]
	}
	if st.gated+penalty < st.plain-1e-9 {
		return st.gated + penalty
	}
	for k := range st.terms {
		st.terms[k].gate = nil
	}
	return st.plain
}

// emit writes the cut of a stretch; its last step is the first row of the chain.
func (f *pathFinder) emit(path []pathStep) {
	s := f.s
	s.out.clear()
	last := len(path) - 1
	path[last].link = -1
	f.weigh(&path[last])
	for n := range path {
		st := &path[n]
		gated := false
		for _, t := range st.terms {
			switch {
			case t.col == st.link:
			case t.gate != nil:
				gated = true
				for _, y := range t.gate {
					s.out.add(y, -math.Max(0, st.demand))
				}
			default:
				s.out.add(t.col, -t.coef)
			}
		}
		if gated && n < last {
			for _, t := range path[n+1].back {
				s.out.add(t.col, -t.coef)
			}
		}
	}
	if c := finish(s.out, -path[last].demand, s.lower, s.upper, s.x, "path"); c != nil {
		s.found = append(s.found, c)
	}
}
