package yield

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Record is what went into and came out of a step in a run, both weighed.
type Record struct {
	Day     calendar.Day
	In, Out quantity.Mass
}

// Yield is out ÷ in, NaN for nothing in.
func (r Record) Yield() float64 {
	if r.In <= 0 {
		return math.NaN()
	}
	return float64(r.Out / r.In)
}

// Check says what is wrong about a record: nothing in, a negative amount, more out than in.
func (r Record) Check() []quantity.Problem {
	var c quantity.Checks
	c.Positive("In", float64(r.In), "kg")
	c.NotNegative("Out", float64(r.Out), "kg")
	if r.In > 0 && r.Out > r.In {
		c.Add(quantity.Problem{Field: "Out", Value: r.Out.Format(quantity.Metric, 1), Allowed: "no more than went in, " + r.In.Format(quantity.Metric, 1),
			Remedy: "weigh both at the same step; what was left in the machine belongs to the run before"})
	}
	return c.Problems()
}

// Prior is what is believed of a step's yield before there are records.
type Prior struct {
	Yield  quantity.Share // such as Step.Yield
	SD     quantity.Share // how far off it may be, one standard deviation; 0 = defaultSD
	Spread quantity.Share // how much single runs scatter, one standard deviation; 0 = defaultSpread
}

// Assumed of a step that nothing is known of; no published source.
const (
	defaultSD     = 0.02
	defaultSpread = 0.02
	spreadRecords = 4 // records that the prior's spread is worth against that of the records
)

// Estimate is a step's yield with how sure it is.
type Estimate struct {
	Yield   quantity.Share
	SD      quantity.Share // standard deviation of Yield
	Spread  quantity.Share // standard deviation of single runs
	Records int            // that could be used
	Weight  quantity.Share // of the records against the prior, 0 without records
}

// EstimateYield combines a prior with records. The records' yield is Σ out ÷ Σ in; they count as
// n = (Σ in)² ÷ Σ in² records of equal mass (Kish, Survey Sampling, 1965), and the prior as k = (Spread ÷ SD)²:
//
//	yield = (k · prior + n · Σ out ÷ Σ in) ÷ (k + n),   SD = Spread ÷ √(k + n)
//
// which is the posterior of a normal mean. Spread is pooled from the records and the prior's, worth four records. Records with
// nothing in, with something negative or not a number are left out; the yield is held to at most 1.
func EstimateYield(p Prior, records []Record) Estimate {
	e := EstimateRatio(p, records)
	e.Yield = min(1, e.Yield)
	return e
}

// EstimateRatio is EstimateYield for ratios that may exceed 1, such as what a line made against what was entered for it.
func EstimateRatio(p Prior, records []Record) Estimate {
	spread0, sd := orDefault(p.Spread, defaultSpread), orDefault(p.SD, defaultSD)
	used, in, out, squares := 0, 0.0, 0.0, 0.0
	for _, r := range records {
		if r.usable() {
			used++
			in += float64(r.In)
			out += float64(r.Out)
			squares += float64(r.In * r.In)
		}
	}
	if used == 0 {
		return Estimate{Yield: p.Yield, SD: quantity.Share(sd), Spread: quantity.Share(spread0)}
	}
	mean, n := out/in, in*in/squares
	spread := pooledSpread(spread0, records, mean, in/float64(used), used)
	k := spread * spread / (sd * sd)
	return Estimate{
		Yield:   quantity.Share((k*float64(p.Yield) + n*mean) / (k + n)),
		SD:      quantity.Share(spread / math.Sqrt(k+n)),
		Spread:  quantity.Share(spread),
		Records: used,
		Weight:  quantity.Share(n / (k + n)),
	}
}

func (r Record) usable() bool {
	return r.In > 0 && r.Out >= 0 && !math.IsInf(float64(r.In), 0) && !math.IsInf(float64(r.Out), 0)
}

// pooledSpread is the scatter of the records' yields about their mean, heavy runs counting more, pooled with the prior's.
func pooledSpread(prior float64, records []Record, mean, meanIn float64, used int) float64 {
	sum := 0.0
	for _, r := range records {
		if r.usable() {
			d := r.Yield() - mean
			sum += float64(r.In) / meanIn * d * d
		}
	}
	return math.Sqrt((spreadRecords*prior*prior + sum) / (spreadRecords + float64(used) - 1))
}

func orDefault(s quantity.Share, d float64) float64 {
	if s > 0 {
		return float64(s)
	}
	return d
}

// String says the estimate and how sure it is: "96.2 % ± 0.4 % from 12 runs".
func (e Estimate) String() string {
	if e.Records == 0 {
		return fmt.Sprintf("%s ± %s, assumed", e.Yield.Format(1), e.SD.Format(1))
	}
	return fmt.Sprintf("%s ± %s from %d runs", e.Yield.Format(1), e.SD.Format(1), e.Records)
}

// Moments is the mean and the standard deviation (n − 1) of x; NaN for no values, and the deviation for one.
func Moments(x []float64) (mean, sd float64) {
	if len(x) == 0 {
		return math.NaN(), math.NaN()
	}
	return stat.MeanStdDev(x, nil)
}
