package lp

// finish restores the true costs and computes the outputs in the model's units.
func (s *Solver) finish() {
	if s.shifted {
		s.trueCosts()
	}
	s.ctx = nil
}

// outputs computes x, y, d and the activities from the current basis if that is not done yet.
func (s *Solver) outputs() {
	if s.haveOut {
		return
	}
	s.haveOut = true
	if s.crossed > 0 {
		return
	}
	if !s.settled || s.stale {
		s.settled = s.restart() == 0
	}
	s.outputDuals()
	s.outputPrimals()
}

func (s *Solver) outputDuals() {
	sign := 1.0
	if s.maximize {
		sign = -1
	}
	for i := range s.outY {
		s.outY[i] = -sign * s.d[s.n+i] * s.rowScale[i]
	}
	for j := range s.outD {
		s.outD[j] = sign * s.d[j] / s.colScale[j]
	}
}

func (s *Solver) outputPrimals() {
	z := 0.0
	for j := range s.outX {
		x := s.x[j]
		if p := s.where[j]; p >= 0 {
			x = s.xb[p]
		}
		z += s.c[j] * x
		s.outX[j] = x * s.colScale[j]
	}
	if s.maximize {
		z = -z
	}
	s.objective = z + s.offset
}

// Objective is the objective of X, in the model's own sense.
func (s *Solver) Objective() float64 { s.outputs(); return s.objective }

// X is the value of each column.
func (s *Solver) X() []float64 { s.outputs(); return s.outX }

// Y is the dual of each row: the change of the objective per unit of the row's binding side.
func (s *Solver) Y() []float64 { s.outputs(); return s.outY }

// D is the reduced cost of each column, c − Aᵀ·Y.
func (s *Solver) D() []float64 { s.outputs(); return s.outD }

// RowActivity is A·x.
func (s *Solver) RowActivity() []float64 {
	s.outputs()
	for i := range s.activity {
		s.activity[i] = 0
		idx, val := s.rows.Line(i)
		for t, j := range idx {
			s.activity[i] += val[t] / s.rowScale[i] * (s.outX[j] / s.colScale[j])
		}
	}
	return s.activity
}

// Ray is the certificate of the last Solve if that ended Infeasible (len NumRows: y such that the least yᵀr over the
// row bounds exceeds the largest (Aᵀy)ᵀx over the column bounds; all zero if a variable's or row's own bounds
// contradict each other) or Unbounded (len NumVars: a direction in which x stays feasible and improves), else nil.
func (s *Solver) Ray() []float64 { return s.ray }
