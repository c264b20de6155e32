package yield

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
)

// NIST Statistical Reference Datasets: certified mean and standard deviation (itl.nist.gov/div898/strd).
func TestMoments(t *testing.T) {
	alternating := func(first, low, high float64) []float64 {
		x := []float64{first}
		for range 500 {
			x = append(x, low, high)
		}
		return x
	}
	var mavro []float64
	for _, d := range []float64{180, 170, 180, 190, 180, 170, 150, 140, 150, 150, 170, 180, 180, 190, 190, 210, 200, 160, 140, 130, 130, 150, 150, 160, 150,
		140, 130, 140, 150, 140, 150, 160, 150, 160, 190, 200, 200, 210, 220, 230, 240, 250, 270, 260, 260, 260, 270, 260, 250, 240} {
		mavro = append(mavro, (200000+d)/1e5)
	}
	var michelso []float64 // hundredths above 299; the data are from memory, their certified figures not
	for _, d := range []float64{
		85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96, 96, 94, 96, 94, 88,
		80, 85, 88, 90, 84, 83, 79, 81, 88, 88, 83, 80, 79, 76, 80, 88, 88, 88, 86, 72, 72, 62, 86, 97, 95,
		88, 91, 85, 87, 84, 84, 85, 84, 84, 84, 89, 81, 81, 82, 80, 77, 76, 74, 75, 76, 91, 92, 89, 86, 88,
		72, 84, 85, 85, 78, 89, 84, 78, 81, 76, 81, 79, 81, 82, 85, 87, 87, 81, 74, 81, 94, 95, 80, 81, 87,
	} {
		michelso = append(michelso, (29900+d)/100)
	}
	const nineDigits = 1e-9
	for _, c := range []struct {
		name     string
		x        []float64
		mean, sd float64
		sdDigits float64 // relative
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, nineDigits},
		{"NumAcc2", alternating(1.2, 1.1, 1.3), 1.2, 0.1, nineDigits},
		{"NumAcc3", alternating(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, nineDigits},
		// As float64 the data themselves are off by up to half a unit in the last place, 2⁻³⁰ or 9.3e-10, which is 1e-8 of the deviation:
		// TestNumAcc4Exactly shows that it is they, not the sums, which keep this from nine digits.
		{"NumAcc4", alternating(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, 1e-8},
		{"Michelso", michelso, 299.852400000000, 0.0790105478190518, nineDigits},
		{"Mavro", mavro, 2.00185600000000, 0.000429123454003053, nineDigits},
	} {
		m, sd := Moments(c.x)
		near(t, c.name+" mean", m, c.mean, nineDigits*c.mean)
		near(t, c.name+" deviation", sd, c.sd, c.sdDigits*c.sd)
	}
	if m, sd := Moments(nil); !math.IsNaN(m) || !math.IsNaN(sd) {
		t.Errorf("moments of nothing: %v, %v", m, sd)
	}
}

// TestNumAcc4Exactly holds the deviation of NumAcc4 as float64 has it against the same in rationals: the sums lose no digit of nine. The
// rational deviation itself is off the certified 0.1 by more than nine digits allow, because 10000000.1 and .3 are no float64.
func TestNumAcc4Exactly(t *testing.T) {
	x := []float64{10000000.2}
	for range 500 {
		x = append(x, 10000000.1, 10000000.3)
	}
	mean, square, n := new(big.Rat), new(big.Rat), new(big.Rat).SetInt64(int64(len(x)))
	for _, v := range x {
		mean.Add(mean, new(big.Rat).SetFloat64(v))
	}
	mean.Quo(mean, n)
	for _, v := range x {
		d := new(big.Rat).SetFloat64(v)
		d.Sub(d, mean)
		square.Add(square, d.Mul(d, d))
	}
	variance, _ := square.Quo(square, n.Sub(n, big.NewRat(1, 1))).Float64()
	exact := math.Sqrt(variance)
	_, sd := Moments(x)
	near(t, "deviation of the numbers as stored", sd, exact, 1e-9*exact)
	if off := math.Abs(exact-0.1) / 0.1; off < 1e-9 || off > 1e-8 {
		t.Errorf("the stored numbers' own deviation is off by %.2g, want what their rounding brings: between 1e-9 and 1e-8", off)
	}
}

func TestEstimateWithoutRecords(t *testing.T) {
	e := EstimateYield(Prior{Yield: 0.96, SD: 0.01}, []Record{{In: 0, Out: 5}, {In: 5, Out: -1}, {In: quantity.Mass(math.NaN()), Out: 1}})
	if e.Yield != 0.96 || e.SD != 0.01 || e.Records != 0 || e.Weight != 0 {
		t.Errorf("%+v, want the prior", e)
	}
	if got := e.String(); got != "96.0 % ± 1.0 %, assumed" {
		t.Errorf("printed %q", got)
	}
}

// The estimate lies between prior and records, nears the records as they become many, and is surer than the prior.
func TestEstimateShrinks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		prior := Prior{Yield: quantity.Share(rapid.Float64Range(0.8, 1).Draw(t, "prior")), SD: quantity.Share(rapid.Float64Range(0.001, 0.05).Draw(t, "sd"))}
		var records []Record
		in, out := 0.0, 0.0
		for range rapid.IntRange(1, 30).Draw(t, "runs") {
			r := Record{In: quantity.Mass(rapid.Float64Range(10, 1000).Draw(t, "in"))}
			r.Out = r.In * quantity.Mass(rapid.Float64Range(0.7, 1).Draw(t, "yield"))
			records = append(records, r)
			in += float64(r.In)
			out += float64(r.Out)
		}
		mean := out / in
		e := EstimateYield(prior, records)
		lo, hi := min(mean, float64(prior.Yield)), max(mean, float64(prior.Yield))
		if float64(e.Yield) < lo-1e-12 || float64(e.Yield) > hi+1e-12 {
			t.Fatalf("estimate %v is not between the prior %v and the records' %v", e.Yield, prior.Yield, mean)
		}
		if e.SD >= prior.SD {
			t.Fatalf("estimate ± %v is no surer than the prior ± %v", e.SD, prior.SD)
		}
		var many []Record
		for range 2000 {
			many = append(many, records...)
		}
		m := EstimateYield(prior, many)
		if m.Weight < e.Weight || m.SD >= e.SD {
			t.Fatalf("more records weigh %v after %v and are sure to %v after %v", m.Weight, e.Weight, m.SD, e.SD)
		}
	})
}

// Worked by hand: 4 runs of 100 kg with 94, 96, 94, 96 kg out. Mean 0.95; pooled variance (4 · 0.02² + 4 · 0.01²) ÷ 7;
// with SD 0.01 the prior counts as k = 2.857 runs.
func TestEstimateByHand(t *testing.T) {
	var records []Record
	for _, out := range []quantity.Mass{94, 96, 94, 96} {
		records = append(records, Record{In: 100, Out: out})
	}
	e := EstimateYield(Prior{Yield: 0.98, SD: 0.01, Spread: 0.02}, records)
	variance := (4*0.0004 + 4*0.0001) / 7
	k := variance / 0.0001
	near(t, "spread", float64(e.Spread), math.Sqrt(variance), 1e-12)
	near(t, "yield", float64(e.Yield), (k*0.98+4*0.95)/(k+4), 1e-12)
	near(t, "deviation", float64(e.SD), math.Sqrt(variance/(k+4)), 1e-12)
	if got := e.String(); got != "96.2 % ± 0.6 % from 4 runs" {
		t.Errorf("printed %q", got)
	}
}

func TestRecordCheck(t *testing.T) {
	for field, r := range map[string]Record{"In": {In: 0, Out: 0}, "Out": {In: 10, Out: 11}} {
		if list := r.Check(); len(list) != 1 || list[0].Field != field {
			t.Errorf("%+v: %v, want a problem of %s", r, list, field)
		}
	}
	if list := (Record{In: 10, Out: 9.5}).Check(); len(list) != 0 {
		t.Errorf("good record: %v", list)
	}
	if y := (Record{}).Yield(); !math.IsNaN(y) {
		t.Errorf("yield of nothing %v, want NaN", y)
	}
}
