package mip

import "math"

// domain is the box a node's search lives in: bounds of all columns, changed through set and undone through
// back. Rows are looked at again when a column of theirs changes, until nothing moves any more.
//
// The objective is a row too: Σ cost·x ≤ cutoff − offset.
type domain struct {
	p            *problem
	lower, upper []float64
	cutoff       float64 // of the objective row, the model's offset taken off; +Inf while there is no solution
	trail        []change
	queue        []int32
	queued       []bool
	work         int64 // nonzeros looked at
}

// change is one bound before it was moved.
type change struct {
	col   int32
	upper bool
	old   float64
}

func newDomain(p *problem) *domain {
	return &domain{p: p, cutoff: inf, queued: make([]bool, p.m+1),
		lower: append([]float64(nil), p.lower...), upper: append([]float64(nil), p.upper...)}
}

// back undoes the changes made since the trail had the given length.
func (d *domain) back(mark int) {
	for k := len(d.trail) - 1; k >= mark; k-- {
		c := d.trail[k]
		if c.upper {
			d.upper[c.col] = c.old
		} else {
			d.lower[c.col] = c.old
		}
	}
	d.trail = d.trail[:mark]
	for _, i := range d.queue {
		d.queued[i] = false
	}
	d.queue = d.queue[:0]
}

// commit makes the present box the floor that back can not undo.
func (d *domain) commit() { d.trail = d.trail[:0] }

// setLower raises column j's lower bound and queues its rows. It reports false when the box becomes empty.
func (d *domain) setLower(j int32, v float64) bool {
	if v <= d.lower[j] {
		return true
	}
	d.trail = append(d.trail, change{j, false, d.lower[j]})
	d.lower[j] = v
	d.touch(j)
	return v <= d.upper[j]+d.slackOf(j)
}

// setUpper lowers column j's upper bound and queues its rows. It reports false when the box becomes empty.
func (d *domain) setUpper(j int32, v float64) bool {
	if v >= d.upper[j] {
		return true
	}
	d.trail = append(d.trail, change{j, true, d.upper[j]})
	d.upper[j] = v
	d.touch(j)
	return v >= d.lower[j]-d.slackOf(j)
}

// slackOf is how far a column's bounds may cross before the box counts as empty.
func (d *domain) slackOf(j int32) float64 {
	if d.p.integer[j] {
		return 0.5
	}
	return feasibilityTol * math.Max(1, math.Abs(d.lower[j]))
}

func (d *domain) fix(j int32, v float64) bool { return d.setLower(j, v) && d.setUpper(j, v) }

func (d *domain) touch(j int32) {
	rows, _ := d.p.col(int(j))
	for _, i := range rows {
		d.enqueue(i)
	}
}

func (d *domain) enqueue(i int32) {
	if !d.queued[i] {
		d.queued[i] = true
		d.queue = append(d.queue, i)
	}
}

// setCutoff lowers the objective's limit (offset included) and queues the objective row.
func (d *domain) setCutoff(v float64) {
	if c := v - d.p.work.Offset; c < d.cutoff {
		d.cutoff = c
		d.enqueue(int32(d.p.m))
	}
}

// propagate tightens until nothing moves. It reports false when a row can not be satisfied in the box.
func (d *domain) propagate() bool {
	budget := 20 * (len(d.p.rowVar) + 100) // nonzeros; chains of tiny steps end here
	ok := true
	for k := 0; k < len(d.queue); k++ {
		i := d.queue[k]
		d.queued[i] = false
		if !ok || budget < 0 {
			continue
		}
		n := d.p.rowStart[i+1] - d.p.rowStart[i]
		budget -= n
		d.work += int64(n)
		ok = d.propagateRow(int(i))
	}
	d.queue = d.queue[:0]
	return ok
}

// rowBounds are the sides of row i, the objective included.
func (d *domain) rowBounds(i int) (lo, up float64) {
	if i == d.p.m {
		return -inf, d.cutoff
	}
	return d.p.rowLo[i], d.p.rowUp[i]
}

// activity is a range of a row's value with its infinite contributions counted apart.
type activity struct {
	min, max       float64
	minInf, maxInf int
	size           float64 // Σ |finite contributions|, the scale of the rounding error
}

func (a *activity) add(coef, lo, up float64) {
	if coef < 0 {
		lo, up = up, lo
	}
	if v := coef * lo; v-v != 0 { // infinite
		a.minInf++
	} else {
		a.min += v
		a.size += math.Abs(v)
	}
	if v := coef * up; v-v != 0 {
		a.maxInf++
	} else {
		a.max += v
		a.size += math.Abs(v)
	}
}

func (d *domain) activityOf(vars []int32, coefs []float64) activity {
	var a activity
	lower, upper := d.lower, d.upper
	for k, j := range vars {
		c, lo, up := coefs[k], lower[j], upper[j]
		if lo == up {
			v := c * lo
			a.min += v
			a.max += v
			if v < 0 {
				v = -v
			}
			a.size += v + v
			continue
		}
		a.add(c, lo, up)
	}
	return a
}

func (d *domain) propagateRow(i int) bool {
	lo, up := d.rowBounds(i)
	if math.IsInf(lo, -1) && math.IsInf(up, 1) {
		return true
	}
	vars, coefs := d.p.row(i)
	a := d.activityOf(vars, coefs)
	tol := math.Max(feasibilityTol*math.Max(1, smaller(lo, up)), 1e-10*a.size)
	if (a.minInf == 0 && a.min > up+tol) || (a.maxInf == 0 && a.max < lo-tol) {
		return false
	}
	if (a.minInf > 1 || math.IsInf(up, 1)) && (a.maxInf > 1 || math.IsInf(lo, -1)) {
		return true
	}
	upTight := up < inf && a.minInf <= 1 && !(a.maxInf == 0 && a.max <= up)
	loTight := lo > -inf && a.maxInf <= 1 && !(a.minInf == 0 && a.min >= lo)
	if !upTight && !loTight {
		return true
	}
	noise := 1e-11 * a.size
	for k, j := range vars {
		if d.lower[j] == d.upper[j] {
			continue
		}
		if !d.tightenTerm(j, coefs[k], a, lo-noise, up+noise, loTight, upTight) {
			return false
		}
	}
	return true
}

// smaller is the least finite magnitude of two row sides.
func smaller(lo, up float64) float64 {
	return math.Min(math.Abs(lo), math.Abs(up))
}

// tightenTerm derives bounds of column j from the rest of its row. The bounds of other columns that moved since
// the activity was taken only make the derived bounds weaker than they could be.
func (d *domain) tightenTerm(j int32, coef float64, a activity, lo, up float64, useLo, useUp bool) bool {
	l, u := d.lower[j], d.upper[j]
	atMin, atMax := l, u
	if coef < 0 {
		atMin, atMax = u, l
	}
	ok := true
	if useUp {
		if math.IsInf(atMin, 0) {
			if a.minInf == 1 {
				ok = d.derive(j, (up-a.min)/coef, coef > 0)
			}
		} else if a.minInf == 0 {
			ok = d.derive(j, (up-(a.min-coef*atMin))/coef, coef > 0)
		}
	}
	if ok && useLo {
		if math.IsInf(atMax, 0) {
			if a.maxInf == 1 {
				ok = d.derive(j, (lo-a.max)/coef, coef < 0)
			}
		} else if a.maxInf == 0 {
			ok = d.derive(j, (lo-(a.max-coef*atMax))/coef, coef < 0)
		}
	}
	return ok
}

// derive records a bound that a row implies, if it is worth recording.
func (d *domain) derive(j int32, v float64, upper bool) bool {
	if d.p.integer[j] {
		if upper {
			return d.setUpper(j, math.Floor(v+roundTol))
		}
		return d.setLower(j, math.Ceil(v-roundTol))
	}
	if math.Abs(v) > hugeBound {
		return true
	}
	if upper {
		if v < d.lower[j] {
			if v < d.lower[j]-d.slackOf(j) {
				return false
			}
			v = d.lower[j]
		}
		if worthwhile(d.upper[j]-v, d.upper[j]-d.lower[j]) {
			return d.setUpper(j, v)
		}
		return true
	}
	if v > d.upper[j] {
		if v > d.upper[j]+d.slackOf(j) {
			return false
		}
		v = d.upper[j]
	}
	if worthwhile(v-d.lower[j], d.upper[j]-d.lower[j]) {
		return d.setLower(j, v)
	}
	return true
}

// worthwhile says whether a gain on a continuous column's range is worth another round.
func worthwhile(gain, width float64) bool {
	return gain > 1e-6 && (math.IsInf(gain, 1) || math.IsInf(width, 1) || gain > tightenTol*width)
}
