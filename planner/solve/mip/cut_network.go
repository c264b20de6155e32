package mip

import (
	"cmp"
	"math"
	"slices"
)

// Network cuts: the cut-set inequalities of networks whose arcs are gated, with flows in place of gates where that is less.
//
// Add up rows, oriented, so that what runs between them cancels: Σ c·x ≥ D, D > 0, where columns of negative coefficient
// were held at their lower bounds and all others are ≥ 0. For any set C of gated columns (x > 0 needs Σ y ≥ 1)
//
//	Σ_{j∉C} c_j·x_j + D·Σ_{j∈C} y_j ≥ D
//
// is valid: with all gates of C shut the sum says so, with one open D·y ≥ D. C takes the smaller of the two terms, column by
// column. The set of rows grows from each row one at a time, by the neighbour that leaves the greatest part of D uncovered.
const (
	maxNetwork     = 25 // rows in one sum
	maxNeighbours  = 6  // tried at each step, those of the greatest flow first
	networkLongest = 200
)

// networkFinder holds the sum of rows being grown.
type networkFinder struct {
	s      *separator
	sum    *sparseRow
	rhs    float64
	used   []bool
	rows   []int32
	weight []float64
	list   []neighbour
}

// neighbour is a row that would cancel a column of the sum.
type neighbour struct {
	row    int32
	weight float64
	flow   float64
}

func newNetworkFinder(s *separator) *networkFinder {
	return &networkFinder{s: s, sum: newSparseRow(s.p.n), used: make([]bool, s.p.m)}
}

// separate grows sets from every row that has a gated column, until the budget is spent.
func (f *networkFinder) separate(budget int64) {
	p, end := f.s.p, f.s.work+budget
	for i := range p.m {
		vars, _ := p.row(i)
		if len(vars) < 3 || len(vars) > networkLongest || !slices.ContainsFunc(vars, func(j int32) bool { return len(f.s.paths.gates[j]) > 0 }) {
			continue
		}
		for _, w := range [2]float64{1, -1} {
			if f.s.work > end || f.s.halted() {
				return
			}
			if !math.IsInf(f.side(int32(i), w), 0) {
				f.grow(int32(i), w)
			}
		}
	}
}

// side is the right-hand side of w·row ≥ side.
func (f *networkFinder) side(i int32, w float64) float64 {
	if w > 0 {
		return w * f.s.p.rowLo[i]
	}
	return w * f.s.p.rowUp[i]
}

// add adds w times row i to the sum.
func (f *networkFinder) add(i int32, w float64) {
	vars, coefs := f.s.p.row(int(i))
	for k, j := range vars {
		f.sum.add(j, w*coefs[k])
	}
	f.rhs += f.side(i, w)
	f.s.work += int64(len(vars))
}

// take takes what add added away again.
func (f *networkFinder) take(i int32, w float64) {
	vars, coefs := f.s.p.row(int(i))
	for k, j := range vars {
		f.sum.add(j, -w*coefs[k])
	}
	f.rhs -= f.side(i, w)
}

// grow adds neighbours one at a time and makes the cut of the best set on the way.
func (f *networkFinder) grow(i int32, w float64) {
	f.sum.clear()
	f.rhs, f.rows, f.weight = 0, append(f.rows[:0], i), append(f.weight[:0], w)
	f.add(i, w)
	best, size := f.uncovered(), 1
	f.used[i] = true
	for len(f.rows) < maxNetwork {
		top, with := -1.0, neighbour{row: -1}
		for _, n := range f.neighbours() {
			f.add(n.row, n.weight)
			if u := f.uncovered(); u > top {
				top, with = u, n
			}
			f.take(n.row, n.weight)
		}
		if with.row < 0 {
			break
		}
		f.add(with.row, with.weight)
		f.used[with.row] = true
		f.rows, f.weight = append(f.rows, with.row), append(f.weight, with.weight)
		if top > best+1e-6 {
			best, size = top, len(f.rows)
		}
	}
	for _, r := range f.rows {
		f.used[r] = false
	}
	if best > 1e-6 {
		f.emit(size)
	}
}

// demand is D; false when the sum can't be read as one.
func (f *networkFinder) demand() (float64, bool) {
	d := f.rhs
	for _, j := range f.sum.list {
		switch c := f.sum.coef[j]; {
		case c == 0:
		case f.s.lower[j] < 0:
			return 0, false
		case c < 0:
			d -= c * f.s.lower[j]
		}
	}
	return d, d > 1e-6
}

// uncovered is the part of D that the point leaves uncovered; −1 when there is no cut.
func (f *networkFinder) uncovered() float64 {
	d, ok := f.demand()
	f.s.work += int64(2 * len(f.sum.list))
	if !ok {
		return -1
	}
	sum := 0.0
	for _, j := range f.sum.list {
		if c := f.sum.coef[j]; c > 0 && f.s.x[j] > 0 {
			v, _ := f.term(j, c, d)
			if sum += v; sum > 2*d {
				return -1
			}
		}
	}
	return (d - sum) / d
}

// term is the smaller of c·x and D·Σ y, with the gate if that is it.
func (f *networkFinder) term(j int32, c, d float64) (float64, []int32) {
	best := c * f.s.x[j]
	var gate []int32
	for _, g := range f.s.paths.gates[j] {
		sum := 0.0
		for _, y := range g {
			sum += f.s.x[y]
		}
		if d*sum < best-1e-9 {
			best, gate = d*sum, g
		}
	}
	return best, gate
}

// neighbours are the rows to try next.
func (f *networkFinder) neighbours() []neighbour {
	f.list = f.list[:0]
	p := f.s.p
	for _, j := range f.sum.list {
		c := f.sum.coef[j]
		flow := math.Abs(c) * f.s.x[j]
		if p.integer[j] || math.Abs(c) < 1e-9 || flow < 1e-6 {
			continue
		}
		rows, coefs := p.col(int(j))
		for k, i := range rows {
			if int(i) == p.m || f.used[i] || p.rowStart[i+1]-p.rowStart[i] < 3 || p.rowStart[i+1]-p.rowStart[i] > networkLongest {
				continue
			}
			w := -c / coefs[k]
			if math.IsInf(f.side(i, w), 0) || slices.ContainsFunc(f.list, func(n neighbour) bool { return n.row == i }) {
				continue
			}
			f.list = append(f.list, neighbour{i, w, flow})
		}
	}
	slices.SortStableFunc(f.list, func(a, b neighbour) int { return cmp.Compare(b.flow, a.flow) })
	return f.list[:min(len(f.list), maxNeighbours)]
}

// emit writes the cut of the first size rows.
func (f *networkFinder) emit(size int) {
	s := f.s
	f.sum.clear()
	f.rhs = 0
	for k := range size {
		f.add(f.rows[k], f.weight[k])
	}
	d, ok := f.demand()
	if !ok {
		return
	}
	s.out.clear()
	for _, j := range f.sum.list {
		c := f.sum.coef[j]
		if c <= 0 {
			continue
		}
		if _, gate := f.term(j, c, d); gate != nil {
			for _, y := range gate {
				s.out.add(y, -d)
			}
		} else {
			s.out.add(j, -c)
		}
	}
	if c := finish(s.out, -d, s.lower, s.upper, s.x, "network"); c != nil {
		s.found = append(s.found, c)
	}
}
