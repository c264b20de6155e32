package lp

const (
	// rowwiseBelow is the density of ρ below which the pivot row is computed row by row.
	rowwiseBelow = 0.25
	// noise is the magnitude below which an entry of the pivot row is rounding.
	noise = 1e-14
)

// priceRow computes the pivot row α_r = ρᵀ[A I] into alphaRow, for nonbasic variables.
func (s *Solver) priceRow() {
	s.alphaRow.Clear()
	if float64(s.rho.N) < rowwiseBelow*float64(s.m) {
		s.priceByRows()
	} else {
		s.priceByColumns()
	}
	a := s.alphaRow
	for _, i := range s.rho.Idx[:s.rho.N] {
		if v := s.n + int(i); s.where[v] < 0 {
			a.Set(int32(v), s.rho.Val[i])
		}
	}
}

func (s *Solver) priceByRows() {
	a := s.alphaRow
	val, idx, n := a.Val, a.Idx, a.N
	work := 0
	for _, i := range s.rho.Idx[:s.rho.N] {
		y := s.rho.Val[i]
		cols, coefs := s.rows.Line(int(i))
		for t, j := range cols {
			v := val[j]
			if v == 0 {
				idx[n] = j
				n++
			}
			v += y * coefs[t]
			if v == 0 {
				v = 1e-50
			}
			val[j] = v
		}
		work += len(cols)
	}
	// Keep what matters: nonbasic, not rounding.
	k := 0
	for _, j := range idx[:n] {
		if v := val[j]; s.where[j] < 0 && (v > noise || v < -noise) {
			idx[k] = j
			k++
		} else {
			val[j] = 0
		}
	}
	a.N = k
	s.work += int64(work + n)
}

func (s *Solver) priceByColumns() {
	a := s.alphaRow
	y := s.rho.Val
	work := 0
	for j := 0; j < s.n; j++ {
		if s.where[j] >= 0 {
			continue
		}
		idx, val := s.a.Line(j)
		t := 0.0
		for k, i := range idx {
			t += val[k] * y[i]
		}
		work += len(idx)
		if t > noise || t < -noise {
			a.Set(int32(j), t)
		}
	}
	s.work += int64(work + s.n)
}

// loadColumnAq puts column v of [A I] into aq.
func (s *Solver) loadColumnAq(v int32) {
	s.aq.Clear()
	if v >= int32(s.n) {
		s.aq.Set(v-int32(s.n), 1)
		return
	}
	idx, val := s.a.Line(int(v))
	for t, i := range idx {
		s.aq.Set(i, val[t])
	}
}

func (s *Solver) ftranAq(v int32) {
	s.loadColumnAq(v)
	s.f.Ftran(s.aq, s.spike, s.dens.aq)
	smooth(&s.dens.aq, float64(s.aq.N)/float64(s.m))
}

func (s *Solver) btranRho(p int32) {
	s.rho.Clear()
	s.rho.Set(p, 1)
	s.f.Btran(s.rho, s.save, s.dens.rho)
	smooth(&s.dens.rho, float64(s.rho.N)/float64(s.m))
}
