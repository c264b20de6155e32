package lp

// Place is where a Solver stands: its basis, the order of the basic variables, the sides of the others and the steepest edge weights.
// It belongs to the programs of the Solver's own rows and columns, whatever their bounds and costs. Cost: 8 bytes a
// row and 1 byte a row and column, and 4 a row.
type Place struct {
	head []int32
	move []int8
	w    []float64
}

// Place copies where s stands.
func (s *Solver) Place() Place {
	return Place{append([]int32(nil), s.head...), append([]int8(nil), s.move...), append([]float64(nil), s.w...)}
}

// Return makes s stand at p, which came from a Solver of the same program but for bounds and costs, and forgets all else that
// earlier calls have left: what follows is the same, to the last bit, as on any other such Solver with these bounds and costs. It panics
// if p has other sizes than s.
func (s *Solver) Return(p Place) {
	if len(p.head) != s.m || len(p.move) != s.n+s.m {
		panic("lp: a place of another program")
	}
	copy(s.head, p.head)
	copy(s.move, p.move)
	copy(s.w, p.w)
	for v := range s.where {
		s.where[v] = -1
	}
	for i, v := range s.head {
		s.where[v] = int32(i)
	}
	s.dirty = s.dirty[:0]
	s.ptol, s.dtol, s.dens = primalTol, dualTol, densities{}
	s.stale, s.settled, s.haveOut = true, false, false
	s.shifted, s.perturbed, s.loose = false, false, false
	s.tried, s.idle = s.tried[:0], 0
}

// Mark sets binds of the rows that bind at p, and moves of the columns that do not rest at their lower bound.
func (p Place) Mark(binds, moves []bool) {
	n := len(moves)
	for v, mv := range p.move[:n] {
		if mv == down || mv == either {
			moves[v] = true
		}
	}
	basic := make([]bool, len(binds))
	for _, v := range p.head {
		if int(v) < n {
			moves[v] = true
		} else {
			basic[int(v)-n] = true
		}
	}
	for i, is := range basic {
		if !is {
			binds[i] = true
		}
	}
}
