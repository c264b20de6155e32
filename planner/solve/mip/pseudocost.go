package mip

import "math"

// pseudoCosts are the average gains of the bound per unit that a column was moved down and up by branching.
type pseudoCosts struct {
	sum   [2][]float64 // down, up
	count [2][]int32
	total [2]float64 // over all columns
	all   [2]int64
	news  []costNote // since the last merge
}

// costNote is one observation, kept to be merged into the shared table in a fixed order.
type costNote struct {
	col  int32
	dir  int8
	unit float64
}

const (
	down = 0
	up   = 1
)

func newPseudoCosts(n int) *pseudoCosts {
	c := &pseudoCosts{}
	for d := range c.sum {
		c.sum[d], c.count[d] = make([]float64, n), make([]int32, n)
	}
	return c
}

// note records a gain over a distance.
func (c *pseudoCosts) note(col int32, dir int8, gain, distance float64) {
	if distance < 1e-6 || math.IsInf(gain, 0) || math.IsNaN(gain) {
		return
	}
	n := costNote{col, dir, math.Max(0, gain) / distance}
	c.apply(n)
	c.news = append(c.news, n)
}

func (c *pseudoCosts) apply(n costNote) {
	c.sum[n.dir][n.col] += n.unit
	c.count[n.dir][n.col]++
	c.total[n.dir] += n.unit
	c.all[n.dir]++
}

// copyFrom makes c the table of o, with nothing new.
func (c *pseudoCosts) copyFrom(o *pseudoCosts) {
	for d := range c.sum {
		copy(c.sum[d], o.sum[d])
		copy(c.count[d], o.count[d])
	}
	c.total, c.all, c.news = o.total, o.all, c.news[:0]
}

// unit is the expected gain per unit for a column, the average of all columns where it is unknown.
func (c *pseudoCosts) unit(col int32, dir int) float64 {
	if n := c.count[dir][col]; n > 0 {
		return c.sum[dir][col] / float64(n)
	}
	if c.all[dir] > 0 {
		return c.total[dir] / float64(c.all[dir])
	}
	return 1
}

// score is the usual product of both sides' expected gains.
func (c *pseudoCosts) score(col int32, value float64) float64 {
	f := value - math.Floor(value)
	return productScore(f*c.unit(col, down), (1-f)*c.unit(col, up))
}

func productScore(a, b float64) float64 {
	return math.Max(a, 1e-6) * math.Max(b, 1e-6)
}

// reliable says whether both directions were seen often enough to trust the average.
func (c *pseudoCosts) reliable(col int32, times int32) bool {
	return c.count[down][col] >= times && c.count[up][col] >= times
}
